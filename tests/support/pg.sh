#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# A throw-away PostgreSQL for scripts: its own mktemp folder and socket, no TCP, gone at exit.
#
#     . tests/support/pg.sh
#     pg_start                       # sets the names below; stops at exit of the script
#     pg_sql tearshare_daemon "SELECT 1"
#     pg_kill; pg_resume             # kill -9 of the postmaster, and up again
#     pg_stop
#
#     PG_DIR PG_PORT                 folder of the socket, port
#     PG_SUPER PG_OWNER PG_DAEMON    conninfo of the superuser, of tearshare_owner and of
#                                    tearshare_daemon, database "tearshare"
#
#     PG_WAL                         given before: a folder for the write-ahead log
#
# Started as a program it prints the three conninfos and stays until its standard input ends.
# The same as root (PostgreSQL then runs as user postgres) and as a normal user.  A script with
# an EXIT trap of its own calls pg_stop in it.

pg_as() { # run as the user PostgreSQL runs as
	if [ "$(id -u)" = 0 ]; then
		setpriv --reuid postgres --regid postgres --init-groups -- "$@"
	else
		"$@"
	fi
}

pg_bin() {
	local dir best=
	for dir in /usr/lib/postgresql/*/bin; do
		[ -x "$dir/initdb" ] && best=$dir
	done
	[ -n "$best" ] || best=$(dirname "$(command -v initdb)")
	printf '%s\n' "$best"
}

pg_up() {
	(cd "$PG_HOME" && pg_as "$PG_BIN/pg_ctl" -D "$PG_HOME/data" -l "$PG_HOME/log" -w -t 60 \
		-o "-k $PG_DIR -p $PG_PORT -c listen_addresses=''" "$1" >/dev/null 2>&1)
}

pg_sql() { # role, SQL; rows without decoration
	PGOPTIONS='--client-min-messages=warning' psql -XAtq -v ON_ERROR_STOP=1 -h "$PG_DIR" -p "$PG_PORT" \
		-U "$1" -d tearshare -c "$2"
}

pg_start() {
	local role
	PG_BIN=$(pg_bin)
	PG_PORT=5432
	PG_HOME=$(mktemp -d "${TMPDIR:-/tmp}/pg-XXXXXX")
	PG_DIR=$PG_HOME/run
	trap pg_stop EXIT
	mkdir "$PG_DIR"
	[ "$(id -u)" != 0 ] || chown postgres:postgres "$PG_HOME" "$PG_DIR"
	chmod 700 "$PG_HOME" "$PG_DIR"
	# Trust is safe behind a folder of mode 0700; fsync stays on, since tests kill it.
	(cd "$PG_HOME" && LC_ALL=C.UTF-8 pg_as "$PG_BIN/initdb" -D "$PG_HOME/data" -U postgres -A trust -E UTF8 \
		--locale=C.UTF-8 -N ${PG_WAL:+-X "$PG_WAL"} >"$PG_HOME.initdb" 2>&1) || {
		cat "$PG_HOME.initdb" >&2
		return 1
	}
	rm -f "$PG_HOME.initdb"
	pg_up start || {
		pg_as cat "$PG_HOME/log" >&2
		return 1
	}
	psql -XAtq -h "$PG_DIR" -p "$PG_PORT" -U postgres -d postgres -c "CREATE DATABASE tearshare" || return 1
	for role in owner daemon planner backup; do
		pg_sql postgres "CREATE ROLE tearshare_$role LOGIN"
	done
	pg_sql postgres "GRANT pg_read_all_data TO tearshare_backup;
		GRANT CREATE ON DATABASE tearshare TO tearshare_owner"
	PG_SUPER="host=$PG_DIR port=$PG_PORT user=postgres dbname=tearshare"
	PG_OWNER="host=$PG_DIR port=$PG_PORT user=tearshare_owner dbname=tearshare"
	PG_DAEMON="host=$PG_DIR port=$PG_PORT user=tearshare_daemon dbname=tearshare"
	export PG_HOME PG_DIR PG_PORT PG_SUPER PG_OWNER PG_DAEMON
}

pg_kill() { # as a power cut: nothing is flushed that was not
	local pid
	pid=$(pg_as head -1 "$PG_HOME/data/postmaster.pid")
	kill -9 "$pid"
	while kill -0 "$pid" 2>/dev/null; do sleep 0.05; done
}

pg_resume() { # its children may hold the memory for a moment
	local _
	for _ in $(seq 100); do
		pg_up start && return 0
		sleep 0.1
	done
	return 1
}

pg_stop() {
	local status=$?
	if [ -n "${PG_HOME:-}" ] && [ -d "$PG_HOME" ]; then
		(cd / && pg_as "$PG_BIN/pg_ctl" -D "$PG_HOME/data" -m immediate -w stop >/dev/null 2>&1) || true
		rm -rf "$PG_HOME"
	fi
	PG_HOME=
	return $status
}

if [ "${BASH_SOURCE[0]}" = "$0" ]; then
	set -euo pipefail
	pg_start
	printf '%s\n' "$PG_SUPER" "$PG_OWNER" "$PG_DAEMON"
	cat >/dev/null
fi
