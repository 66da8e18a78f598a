#!/bin/sh
# One check-in with BusyBox wget, which can only open an address: the key is part of it.
#   EBBWATCH_URL=http://watch.example.net:8460 EBBWATCH_KEY_FILE=/etc/ebbwatch.key check-in-busybox.sh power=mains
# Others on this machine may see the address while it runs; where that matters, take check-in.sh.
set -eu
: "${EBBWATCH_URL:?set it to the address that ebbwatch enrol has printed}"
: "${EBBWATCH_KEY_FILE:?set it to a file that holds the key, readable by you alone}"
fields="uptime_s=$(cut -d ' ' -f 1 /proc/uptime)"
for field in "$@"; do fields="$fields&$field"; done
# Its own -T crashes in some builds.
exec busybox timeout 20 busybox wget -q -O /dev/null "$EBBWATCH_URL/v1/c/$(cat "$EBBWATCH_KEY_FILE")?$fields"
