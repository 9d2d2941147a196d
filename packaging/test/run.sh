#!/bin/bash
# Installs, upgrades, removes and purges the Debian package in a Debian of its own, booted with systemd, so that the
# service runs as it will at people's. What is checked there is in inside.sh.
#
#   packaging/test/run.sh release/rigtally_…_amd64.deb
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)

skip() { echo "SKIPPED, the package was not installed: $1" >&2; exit 0; }
[ "$(id -u)" = 0 ] || skip "only root can boot a Debian of its own"
command -v mmdebstrap >/dev/null || skip "install mmdebstrap"
command -v systemd-nspawn >/dev/null || skip "install systemd-container"

root=$(mktemp -d)
trap 'rm -rf "$root"' EXIT
. /etc/os-release
echo "Making a Debian $VERSION_CODENAME with PostgreSQL."
mmdebstrap --quiet --variant=apt --include=adduser,curl,dbus,postgresql,procps,systemd-sysv "$VERSION_CODENAME" "$root"

cp "$1" "$root/rigtally.deb"
# The next version: the same program, with settings that have gained a line.
dpkg-deb --raw-extract "$1" "$root/next"
sed -i 's/^Version: .*/&+next/' "$root/next/DEBIAN/control"
echo '# A line that the next version brings.' >>"$root/next/etc/rigtally/rigtally.toml"
(cd "$root/next" && find etc usr -type f -exec md5sum {} + >DEBIAN/md5sums)
dpkg-deb --build --root-owner-group -Zgzip "$root/next" "$root/next.deb" >/dev/null
rm -r "$root/next"

cp "$here/inside.sh" "$here/../compose/roles.sh" "$root/"
cat >"$root/etc/systemd/system/test.service" <<'UNIT'
[Unit]
After=postgresql.service
[Service]
Type=oneshot
ExecStart=/bin/bash -c '/bin/bash /inside.sh >/said 2>&1; echo $? >/status; systemctl poweroff'
UNIT
ln -s ../test.service "$root/etc/systemd/system/multi-user.target.wants/test.service"

echo "Booting it."
timeout 600 systemd-nspawn --quiet --register=no --keep-unit --private-network --directory="$root" --boot \
	>"$root/boot.log" 2>&1 </dev/null || true
if [ ! -e "$root/said" ]; then
	tail -20 "$root/boot.log" >&2
	skip "this machine can't boot it"
fi
cat "$root/said"
[ "$(cat "$root/status" 2>/dev/null)" = 0 ] || { echo "FAILED, or not done within ten minutes" >&2; exit 1; }
