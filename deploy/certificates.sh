#!/bin/sh
# Makes a certificate authority for the cluster and one certificate for each machine: certificates.sh CLUSTER.ENV FOLDER
# writes FOLDER/authority.key, which stays where it was made, and for the machines FOLDER/1, 2 and 3 with ca.pem,
# node.pem and node.key. They last for ten years. What is there already is not made again.
set -eu
if [ $# != 2 ]; then
	echo "usage: certificates.sh cluster.env folder" >&2
	exit 2
fi
. "$1"
umask 077
mkdir -p "$2"
cd "$2"
if [ ! -e authority.key ]; then
	openssl req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 3650 -subj "/CN=rigtally cluster" \
		-addext basicConstraints=critical,CA:TRUE,pathlen:0 -addext keyUsage=critical,keyCertSign,cRLSign \
		-keyout authority.key -out ca.pem 2>/dev/null
fi
number=0
for address in "$NODE1" "$NODE2" "$NODE3"; do
	number=$((number + 1))
	mkdir -p $number
	[ ! -e $number/node.pem ] || continue
	case $address in
	*[!0-9.:]*) name=DNS:$address ;;
	*) name=IP:$address ;;
	esac
	# Each machine is server and client to the others; it also reaches itself.
	printf 'subjectAltName=%s,IP:127.0.0.1,DNS:localhost\nextendedKeyUsage=serverAuth,clientAuth\nbasicConstraints=CA:FALSE\n' "$name" >extensions
	openssl req -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -subj "/CN=node$number" \
		-keyout $number/node.key -out request 2>/dev/null
	openssl x509 -req -in request -CA ca.pem -CAkey authority.key -CAcreateserial -days 3650 \
		-extfile extensions -out $number/node.pem 2>/dev/null
	cp ca.pem $number/ca.pem
	rm -f request extensions
done
