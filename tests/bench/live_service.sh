#!/usr/bin/env bash
# The service under a running systemd: sandbox, credentials, watchdog, upgrade, removal.
#
#   tests/bench/live_service.sh      as root, some five minutes, with a network for the packages
#
# systemd is started as process 1 of namespaces of its own, over a copy-on-write view of this
# computer's files that lives in memory; nothing of this computer is changed. The switches are the
# demo's. Each line printed is something that was looked at; the first that is not so ends it.
set -euo pipefail
here=$(CDPATH='' cd -- "$(dirname -- "$0")/../.." && pwd)
cd "$here"
. deploy/environment.sh
ensure_environment tests
for program in unshare nsenter systemctl; do
  command -v "$program" >/dev/null || fail "$program is missing (Debian: util-linux, systemd)"
done
[ -x /lib/systemd/systemd ] || fail 'systemd is missing (Debian package: systemd)'
[ "$(id -u)" = 0 ] || fail 'This must be run as root.'

work=$(mktemp -d)
started=()
clean_up() {
  # shellcheck disable=SC2317  # called by the trap
  for pid in "${started[@]}"; do kill -KILL "$pid" 2>/dev/null || true; done
  rm -rf -- "$work"
}
trap clean_up EXIT

cat >"$work/boot" <<'BOOT'
set -eu
over=$1/over
mount --make-rprivate /
mkdir "$over"
mount -t tmpfs -o size=3g tmpfs "$over"
mkdir "$over/upper" "$over/work" "$over/root"
mount -t overlay overlay -o "lowerdir=/,upperdir=$over/upper,workdir=$over/work" "$over/root"
cd "$over/root"
mount -t proc proc proc
mount -t sysfs sysfs sys
mount -t cgroup2 cgroup2 sys/fs/cgroup
mount -t tmpfs -o mode=755 tmpfs run
mount -t tmpfs tmpfs tmp
mount -t tmpfs -o mode=755 tmpfs dev
for device in null zero full random urandom tty; do
  touch "dev/$device"
  mount --bind "/dev/$device" "dev/$device"
done
mkdir dev/pts dev/shm
mount -t devpts devpts dev/pts
mount -t tmpfs tmpfs dev/shm
ln -s pts/ptmx dev/ptmx
ln -s /proc/self/fd dev/fd
units=etc/systemd/system
mkdir -p mnt/old "$units"
printf '[Unit]\nRequires=sysinit.target dbus.socket\nAfter=sysinit.target dbus.socket\n' >"$units/bare.target"
for unit in udevd udev-trigger networkd timesyncd resolved logind remount-fs modules-load sysctl; do
  ln -sf /dev/null "$units/systemd-$unit.service"
done
pivot_root . mnt/old
umount -l /mnt/old
mount --make-rshared / # credentials reach a unit by propagation
exec env -i container=other PATH=/usr/sbin:/usr/bin:/sbin:/bin \
  /lib/systemd/systemd --system --unit=bare.target --show-status=no </dev/null >/run/boot.log 2>&1
BOOT
# The network is this computer's: packages are fetched, switches are asked at 127.0.73.x.
unshare --pid --fork --mount --uts --ipc --cgroup --kill-child bash "$work/boot" "$work" &
started+=($!)
disown
sleep 4
first=$(pgrep -P "${started[0]}")
inside() { nsenter -t "$first" -p -m -u -i -C env PATH=/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin "$@"; }
until_so() { # $1: seconds, the rest: a command
  for _ in $(seq "$1"); do
    if "${@:2}" >/dev/null 2>&1; then return; fi
    sleep 1
  done
  fail "not so after $1 s: ${*:2}" "$(inside journalctl --no-pager -n 20 2>&1)"
}
shown() { printf '%-66s %s\n' "$1" "$2"; }
main_pid() { inside systemctl show -p MainPID --value "$1"; }
of_service() { inside sh -c "tr '\\0' '\\n' </proc/$(main_pid "$1")/status" | sed -n "s/^$2:[[:space:]]*//p"; }
as_service() { # $1: a service, the rest: a command that it runs in its place as its user
  inside nsenter -t "$(main_pid "$1")" -m setpriv --reuid "$1" --clear-groups "${@:2}" >/dev/null 2>&1
}
light_is_read() { inside strandkeeper status /etc/strandkeeper/station.toml | grep dBm; }
begun_anew() { [ "$(main_pid strandkeeper)" != "$before" ] && inside systemctl is-active strandkeeper; }
release() { # a copy of the committed tree, with a change if $1 is given
  inside mkdir -p /srv/release
  git archive HEAD | inside tar x -C /srv/release
  inside sh -c "printf '%s' '${1-}' >>/srv/release/pyproject.toml"
}

until_so 20 inside systemctl is-system-running
release
inside /srv/release/deploy/install 2>/dev/null
shown 'deploy/install' 'installed'

"$python" -m strandkeeper_demo --agents-only >"$work/agents" &
started+=($!)
disown
until_so 30 grep -q jetty "$work/agents"
inside sh -c 'umask 077; cat >/etc/strandkeeper/secrets/lab' \
  < <(sed -n 's/^lab .*community \([^ ]*\).*/\1/p' "$work/agents")
inside sh -c 'cat >/etc/strandkeeper/station.toml' <<'TOML'
station = "Live"
[store]
path = "/var/lib/strandkeeper/record.db"
batch_s = 2
[intervals]
status_s = 2
optics_s = 2
[dashboard]
port = 8371
[[switch]]
name = "lab"
host = "127.0.73.1"
port = 16161
snmp = { version = "2c", community_credential = "secret_lab" }
[[link]]
name = "Pump house"
a = { name = "Lab", switch = "lab", port = "sfp1", pmd = "1000BASE-LX10" }
b = { name = "Pump house" }
TOML
both='strandkeeper.service strandkeeper-dashboard.service'
# shellcheck disable=SC2086  # two words
inside systemctl enable --now $both 2>/dev/null
until_so 60 light_is_read
shown 'Type=notify, LoadCredential: the switch is read' 'yes'
for unit in strandkeeper strandkeeper-dashboard; do
  [ "$(of_service "$unit" CapEff)" = 0000000000000000 ] || fail "$unit has capabilities"
  [ "$(of_service "$unit" NoNewPrivs)" = 1 ] && [ "$(of_service "$unit" Seccomp)" = 2 ] ||
    fail "$unit is not confined"
  shown "$unit: capabilities; new privileges; calls filtered" 'none; none; yes'
done
credential=/run/credentials/strandkeeper.service/secret_lab
as_service strandkeeper cat "$credential" || fail 'the daemon cannot read its credential'
as_service strandkeeper-dashboard true || fail 'nothing can be tried in the place of the pages'
for secret in "$credential" /etc/strandkeeper/secrets/lab; do
  if as_service strandkeeper-dashboard cat "$secret"; then fail "the pages can read $secret"; fi
done
shown 'credential: read by the daemon; by the pages' 'yes; refused'

before=$(main_pid strandkeeper) && begin=$SECONDS
inside kill -STOP "$before"
until_so 100 begun_anew
inside journalctl -u strandkeeper --no-pager | grep -q "result 'watchdog'" || fail 'it was not the watchdog'
shown 'a daemon that stands still: killed by the watchdog, back after' "$((SECONDS - begin)) s"

release '# another release'
inside /srv/release/deploy/install 2>/dev/null
inside sh -c 'ls /var/backups/strandkeeper/before-upgrade-*.db' >/dev/null || fail 'no copy was made'
# shellcheck disable=SC2086
until_so 30 inside systemctl is-active $both
shown 'upgrade: a copy of the record first; both services back' 'yes; yes'

inside /srv/release/deploy/install --uninstall 2>/dev/null
if inside test -e /opt/strandkeeper; then fail 'the removal left programs'; fi
inside test -s /var/lib/strandkeeper/record.db || fail 'the removal took the record'
shown 'removal: programs gone; record and configuration left' 'yes; yes'
