#!/bin/sh
# Writes the files of one machine: configure.sh CLUSTER.ENV NUMBER FOLDER
# fills in every *.in beside it for the machine of that number, 1 to 3.
set -eu
if [ $# != 3 ]; then
	echo "usage: configure.sh cluster.env 1|2|3 folder" >&2
	exit 2
fi
. "$1"
case $2 in
1) ADDRESS=$NODE1 ;;
2) ADDRESS=$NODE2 ;;
3) ADDRESS=$NODE3 ;;
*) echo "the machine's number is 1, 2 or 3" >&2 && exit 2 ;;
esac
NUMBER=$2
umask 077
mkdir -p "$3"
# One command of sed for each setting.
fill=$(mktemp)
trap 'rm -f "$fill"' EXIT
for name in NODE1 NODE2 NODE3 PROGRAMS SUPERUSER_PASSWORD REPLICATION_PASSWORD REWIND_PASSWORD PATRONI_PASSWORD \
	KEEPER_PASSWORD APP_PASSWORD TLS DATA ETCD_DATA RUN USERLIST BIN ADDRESS NUMBER; do
	eval "value=\${$name-}"
	if [ -z "$value" ]; then
		echo "$name is not set in $1" >&2
		exit 1
	fi
	case $value in
	*[!A-Za-z0-9_./:-]*) echo "$name has a character that these files can't hold; use letters and digits" >&2 && exit 1 ;;
	esac
	echo "s|@$name@|$value|g" >>"$fill"
done
for file in "$(dirname "$0")"/*.in; do
	sed -f "$fill" "$file" >"$3/$(basename "$file" .in)"
done
