#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# A full disk: the write is refused with the reason, reads go on, and when there is space again all
# that was acknowledged is there.  The disk is a small one of our own (tmpfs in a mount
# namespace); where none may be made, the test is skipped.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
if [ -z "${FULL_DISK:-}" ]; then
	unshare -m true 2>/dev/null || {
		echo "skipped: no mount namespace may be made here"
		exit 77
	}
	FULL_DISK=$(mktemp -d)
	export FULL_DISK
	mkdir "$FULL_DISK/tables" "$FULL_DISK/log"
	trap 'rmdir "$FULL_DISK/tables" "$FULL_DISK/log" "$FULL_DISK"' EXIT
	status=0
	unshare -m "$0" || status=$?
	exit $status
fi
# The write-ahead log has a disk of its own: PostgreSQL stops when that one is full (its manual,
# "Disk Full Failure"), which is the test of kill -9.
if ! mount -t tmpfs -o size=120m,mode=755 tmpfs "$FULL_DISK/tables" 2>/dev/null ||
	! mount -t tmpfs -o size=400m,mode=755 tmpfs "$FULL_DISK/log" 2>/dev/null; then
	echo "skipped: no disk may be mounted here"
	exit 77
fi
. "$here/../support/pg.sh"
mkdir "$FULL_DISK/log/wal"
[ "$(id -u)" != 0 ] || chown postgres:postgres "$FULL_DISK/log/wal"
chmod 755 "$FULL_DISK" # PostgreSQL's user walks through it
PG_WAL=$FULL_DISK/log/wal TMPDIR=$FULL_DISK/tables pg_start
"$BUILD_DIR/migrate" "$PG_SUPER" 2>/dev/null
pg_sql postgres "ALTER SYSTEM SET max_wal_size = '32MB'"
pg_sql postgres "ALTER SYSTEM SET min_wal_size = '32MB'"
pg_sql postgres "SELECT pg_reload_conf()" >/dev/null
studio=$(pg_sql postgres "INSERT INTO tearshare.studio (name) VALUES ('Small Shelf') RETURNING studio_id")
acknowledged=$(mktemp)
# Ballast that leaves about 20 MB: the tables fill it.
left=$(df --output=avail -k "$FULL_DISK/tables" | tail -1)
dd if=/dev/zero of="$FULL_DISK/tables/ballast" bs=1k count=$((left - 20000)) 2>/dev/null
status=0
"$BUILD_DIR/store_writer" "$PG_DAEMON" "$studio" 100000 30000 >"$acknowledged" || status=$?
[ "$status" = 3 ] || {
	echo "the writer ended with $status, not with a full disk"
	exit 1
}
wanted=$(wc -l <"$acknowledged")
rm "$acknowledged"
found() { pg_sql tearshare_daemon "SELECT count(*) FROM tearshare.kept_answer WHERE studio_id = $studio"; }
during=$(found)
rm "$FULL_DISK/tables/ballast"
again=$("$BUILD_DIR/store_writer" "$PG_DAEMON" "$studio" $((wanted + 1)) 30000 | wc -l)
after=$(found)
echo "acknowledged $wanted, read while full $during, and after space returned $after (wrote on: $again)"
[ "$during" = "$wanted" ] && [ "$after" = $((wanted + 1)) ] && [ "$again" = $((wanted + 1)) ]
