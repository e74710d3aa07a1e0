#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The schema as PostgreSQL tells it, against the golden files of rights and columns and the rules of
# rules.sql.  `tests/sql/catalogue.sh renew` writes the golden files anew; the purpose of a new column
# is left empty, which fails until somebody has written what it is for.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
. "$here/../support/pg.sh"
pg_start
"${BUILD_DIR:?the build folder}/migrate" "$PG_SUPER"
ask() { psql -Xq -v ON_ERROR_STOP=1 "$PG_SUPER" -f "$here/$1"; }

# The columns in the database's order, each with the purpose that columns.txt has for it.
with_purposes() {
	ask columns.sql | awk -v golden="$here/columns.txt" '
		BEGIN { while ((getline line <golden) > 0) {
			at = index(line, " | "); purpose[substr(line, 1, at - 1)] = substr(line, at + 3) } }
		{ print $0 " | " purpose[$0] }'
}

if [ "${1:-}" = renew ]; then
	ask rights.sql >"$here/rights.txt"
	columns=$(with_purposes)
	printf '%s\n' "$columns" >"$here/columns.txt"
	exit 0
fi
status=0
# No column without its purpose, no purpose without its column.
columns_told() {
	local columns
	columns=$(with_purposes)
	diff -u "$here/columns.txt" - <<<"$columns" && ! grep ' | *$' <<<"$columns"
}
columns_told || {
	echo "tests/sql/columns.txt has not each column with its purpose (left: golden)"
	status=1
}
ask rights.sql | diff -u "$here/rights.txt" - || {
	echo "rights differ from tests/sql/rights.txt (left: golden)"
	status=1
}
broken=$(ask rules.sql)
[ -z "$broken" ] || {
	printf '%s\n' "$broken"
	status=1
}

# How long things are kept is told as it is done.
told=$(sed -n 's/^| `\([a-z_]*\)` | \([0-9]*\) | .*/\1 \2/p' "$here/../../docs/privacy.md" | sort)
held=$(psql -XAtq -F ' ' "$PG_SUPER" -c "SELECT what, days FROM tearshare.retention" | sort)
if [ -z "$held" ] || [ "$told" != "$held" ]; then
	printf 'docs/privacy.md tells:\n%s\nthe database holds:\n%s\n' "$told" "$held"
	status=1
fi

# A rule that is broken must be seen, or the empty answer above says nothing.
pg_sql postgres "CREATE TABLE tearshare.stray (id integer, made timestamp, made_at text, width length_u, CHECK (id > 0))" 2>/dev/null ||
	psql -Xq "$PG_SUPER" -c "CREATE TABLE tearshare.stray (id integer, made timestamp, made_at text, width tearshare.length_u, CHECK (id > 0))"
found=$(ask rules.sql)
for what in "table without a key: stray" "type not for us: stray made" "an instant that is none: stray made_at" \
	"without a name of its own: stray_id_check" "without its unit: stray width"; do
	grep -qF "$what" <<<"$found" || {
		echo "not seen: $what"
		status=1
	}
done
if columns_told >/dev/null; then
	echo "a column without a purpose was not seen"
	status=1
fi
pg_sql postgres "DROP TABLE tearshare.stray; GRANT DELETE ON tearshare.event TO tearshare_daemon"
if ask rights.sql | diff -q "$here/rights.txt" - >/dev/null; then
	echo "a right given beside the migrations was not seen"
	status=1
fi

# As each role itself: what is not given is refused.
refused() { # role, SQL
	local said
	if said=$(pg_sql "$1" "$2" 2>&1); then
		echo "$1 may: $2"
		status=1
	elif ! grep -q "permission denied" <<<"$said"; then
		echo "$1: $2: $said"
		status=1
	fi
}
for table in ledger_entry booking account invoice invoice_line settlement share trouble member key session kept_answer event request; do
	refused tearshare_planner "SELECT count(*) FROM tearshare.$table"
done
refused tearshare_planner "UPDATE tearshare.job SET problem = '{}'"
refused tearshare_backup "DELETE FROM tearshare.request"
refused tearshare_backup "INSERT INTO tearshare.studio (name) VALUES ('x')"
refused tearshare_daemon "CREATE TABLE tearshare.mine (id integer)"
refused tearshare_daemon "CREATE SCHEMA mine"
refused tearshare_daemon "CREATE TEMPORARY TABLE mine (id integer)"
refused tearshare_daemon "INSERT INTO tearshare.schema_version VALUES (99, 'x', '')"
refused tearshare_daemon "DELETE FROM tearshare.member"
refused tearshare_daemon "UPDATE tearshare.ledger_entry SET amount_minor = 1"
refused tearshare_daemon "UPDATE tearshare.booking SET reason = ''"
refused tearshare_daemon "TRUNCATE tearshare.accepted_plan"
pg_sql tearshare_backup "SELECT count(*) FROM tearshare.ledger_entry" >/dev/null || status=1
exit $status
