#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# Kill the primary while a writer writes, promote its synchronous standby: everything that was
# acknowledged is there, each once, and the writer goes on by itself.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
. "$here/../support/pg.sh"
trap 'stop_all' EXIT
stop_all() {
	local status=$?
	[ -z "${writer:-}" ] || kill "$writer" 2>/dev/null || true
	[ -z "${PG_HOME:-}" ] || (cd / && pg_as "$PG_BIN/pg_ctl" -D "$PG_HOME/standby" -m immediate stop >/dev/null 2>&1) || true
	pg_stop
	exit $status
}
standby() { psql -XAtq -h "$PG_DIR" -p 5434 -U postgres -d tearshare -c "$1"; }

pg_start
trap 'stop_all' EXIT
"$BUILD_DIR/migrate" "$PG_SUPER" 2>/dev/null
studio=$(pg_sql postgres "INSERT INTO tearshare.studio (name) VALUES ('Far Shore') RETURNING studio_id")
(cd "$PG_HOME" && pg_as "$PG_BIN/pg_basebackup" -h "$PG_DIR" -p "$PG_PORT" -U postgres -D "$PG_HOME/standby" -R -c fast)
(cd "$PG_HOME" && pg_as "$PG_BIN/pg_ctl" -D "$PG_HOME/standby" -l "$PG_HOME/standby.log" -w \
	-o "-k $PG_DIR -p 5434 -c listen_addresses=''" start >/dev/null)
# Only now, so that the standby does not carry it over and wait for itself.
pg_sql postgres "ALTER SYSTEM SET synchronous_standby_names = '*'"
pg_sql postgres "SELECT pg_reload_conf()" >/dev/null
until [ "$(pg_sql postgres "SELECT count(*) FROM pg_stat_replication WHERE sync_state = 'sync'")" = 1 ]; do sleep 0.05; done

"$BUILD_DIR/store_writer" "host=$PG_DIR,$PG_DIR port=$PG_PORT,5434 user=tearshare_daemon dbname=tearshare" "$studio" 300 \
	>"$PG_HOME/acknowledged" &
writer=$!
until [ "$(wc -l <"$PG_HOME/acknowledged")" -ge 60 ]; do sleep 0.02; done
pg_kill
(cd "$PG_HOME" && pg_as "$PG_BIN/pg_ctl" -D "$PG_HOME/standby" -w promote >/dev/null)
wait "$writer" || {
	echo "the writer gave up with status $?"
	exit 1
}
writer=
wanted=$(sort -n "$PG_HOME/acknowledged" | uniq | wc -l)
found=$(standby "SELECT count(*) || '/' || count(DISTINCT name) FROM tearshare.member WHERE studio_id = $studio")
echo "acknowledged $wanted, found rows/different $found, timeline $(standby "SELECT left(pg_walfile_name(pg_current_wal_lsn()), 8)")"
[ "$wanted" = 300 ] && [ "$found" = 300/300 ]
