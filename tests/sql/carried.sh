#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# Books kept before there was a ledger of double entry are carried over, number by number.
#
# The schema is made up to its seventh file, books are written as the program wrote them then (two
# settlements, payments, a reversal, one workshop settled on estimates), and the program's own
# migrations do the rest.  What a member owed before is what they owe after.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
. "$here/../support/pg.sh"
pg_start
"${BUILD_DIR:?the build folder}/migrate" "$PG_SUPER" 2>/dev/null # makes the roles
psql -Xq "$PG_SUPER" -c 'DROP SCHEMA tearshare CASCADE' 2>/dev/null

{
	echo 'BEGIN; SET ROLE tearshare_owner; CREATE SCHEMA tearshare; SET search_path = tearshare, pg_temp;'
	echo "CREATE TABLE schema_version (number integer CONSTRAINT schema_version_key PRIMARY KEY
		CONSTRAINT schema_version_number_positive CHECK (number > 0), name text NOT NULL,
		hash bytea NOT NULL CONSTRAINT schema_version_hash_is_sha256 CHECK (octet_length(hash) = 32),
		applied_at timestamptz NOT NULL DEFAULT now());"
	for file in "$here"/../../sql/00[1-7]_*.sql; do
		cat "$file"
		name=$(basename "$file")
		echo "INSERT INTO schema_version (number, name, hash)
			VALUES (${name:2:1}, '$name', decode('$(sha256sum "$file" | cut -d' ' -f1)', 'hex'));"
	done
	cat <<'SQL'
INSERT INTO studio (name, currency) VALUES ('Old', 'EUR');
INSERT INTO member (studio_id, name, roles) VALUES (1, 'Owner', 8), (1, 'Ada', 1), (1, 'Bo', 1);
INSERT INTO key (studio_id, member_id, hash) VALUES (1, 1, sha256('k'));
INSERT INTO paper (studio_id, name, weight_gsm, finish) VALUES (1, 'Cold', 300, 'cold press'), (1, 'Hot', 300, 'hot press');
INSERT INTO stock (studio_id, paper_id, kind, name, width_u, length_u, price_minor, available)
	VALUES (1, 1, 'fresh', 'roll', 365760, 2926080, 19200, NULL), (1, 1, 'roll-end', 'end', 365760, 292608, 1500, 2);
INSERT INTO workshop (studio_id, name, closes_at, starts_on)
	VALUES (1, 'Two papers', '2026-01-01Z', '2026-01-05'), (1, 'Estimated', '2026-01-01Z', '2026-01-05');
INSERT INTO workshop_paper VALUES (1, 1, 1), (1, 1, 2), (1, 2, 1);
INSERT INTO enrolment (studio_id, workshop_id, member_id) SELECT 1, w, m FROM generate_series(1, 2) w, generate_series(2, 3) m;
INSERT INTO plan (studio_id, workshop_id, number, created_by) VALUES (1, 1, 1, 1), (1, 2, 1, 1);
UPDATE plan SET state = 'ready';
UPDATE plan SET state = 'accepted', accepted_at = now(), accepted_by = 1;
UPDATE workshop SET state = 'closed';
UPDATE workshop w SET state = 'planned', accepted_plan_id = w.workshop_id;
UPDATE workshop SET state = 'torn' WHERE workshop_id = 1;
UPDATE workshop SET state = 'settled' WHERE workshop_id = 1;
INSERT INTO stock_use VALUES (1, 2, 2, 1);
INSERT INTO settlement (studio_id, workshop_id, plan_id, number, currency, invoice_minor, charged_minor, parts, created_by)
	VALUES (1, 1, 1, 1, 'EUR', 1000, 1000, '[{"paper_id":1,"amount_minor":700}]', 1);
INSERT INTO ledger_entry (studio_id, workshop_id, member_id, kind, amount_minor, settlement_id, reason, created_by, key_id)
	VALUES (1, 1, 2, 'charge', 400, 1, 'first', 1, 1), (1, 1, 3, 'charge', 600, 1, 'first', 1, 1);
INSERT INTO ledger_entry (studio_id, workshop_id, member_id, kind, amount_minor, method, reference, paid_on, created_by)
	VALUES (1, 1, 2, 'payment', 500, 'cash', 'slip 4', '2026-01-07', 1), (1, 1, 3, 'payment', 50, '', '', NULL, 1);
INSERT INTO ledger_entry (studio_id, workshop_id, member_id, kind, amount_minor, reverses_id, reason, created_by)
	VALUES (1, 1, 3, 'reversal', -50, 4, 'slip', 1);
INSERT INTO settlement (studio_id, workshop_id, plan_id, number, currency, invoice_minor, charged_minor, parts, created_by)
	VALUES (1, 1, 1, 2, 'EUR', 900, -100, '[{"paper_id":1,"amount_minor":650},{"paper_id":2,"amount_minor":250}]', 1);
INSERT INTO ledger_entry (studio_id, workshop_id, member_id, kind, amount_minor, settlement_id, reason, created_by)
	VALUES (1, 1, 2, 'charge', -40, 2, 'second', 1), (1, 1, 3, 'charge', -60, 2, 'second', 1);
COMMIT;
SQL
} | psql -Xq -v ON_ERROR_STOP=1 "$PG_SUPER" 2>&1 | { grep -v NOTICE || true; }

balances="SELECT string_agg(format('%s:%s', member_id, owed), ' ' ORDER BY member_id) FROM"
before=$(pg_sql postgres "$balances (SELECT member_id, sum(CASE WHEN settlement_id IS NULL THEN -amount_minor
	ELSE amount_minor END) AS owed FROM tearshare.ledger_entry GROUP BY member_id) t")
"$BUILD_DIR/migrate" "$PG_SUPER" 2>/dev/null
after=$(pg_sql postgres "$balances (SELECT member_id, sum(amount_minor) AS owed FROM tearshare.ledger_entry
	WHERE member_id IS NOT NULL GROUP BY member_id) t")

status=0
same() { # what, wanted, seen
	[ "$2" = "$3" ] || {
		echo "$1: $3 instead of $2"
		status=1
	}
}
same "what was owed" "2:-140 3:540" "$before"
same "what is owed" "$before" "$after"
same "troubles" "" "$(pg_sql tearshare_daemon "SELECT what FROM tearshare.trouble UNION ALL SELECT what FROM tearshare.trouble_on_shelf")"
same "numbers of entries" "1 2 3 4 5 6 7" \
	"$(pg_sql postgres "SELECT string_agg(entry_id::text, ' ' ORDER BY entry_id) FROM tearshare.ledger_entry WHERE member_id IS NOT NULL")"
same "kinds" "charge payment payment reversal adjustment" \
	"$(pg_sql postgres "SELECT string_agg(kind, ' ' ORDER BY e) FROM (SELECT b.kind, min(e.entry_id) AS e FROM tearshare.booking b
		JOIN tearshare.ledger_entry e USING (studio_id, booking_id) WHERE e.member_id IS NOT NULL GROUP BY b.booking_id, b.kind) t")"
same "the reversal names its payment" "4" \
	"$(pg_sql postgres "SELECT reverses_id FROM tearshare.booking WHERE kind = 'reversal' AND invoice_id IS NULL")"
same "who, with which key, why" "1 1 first" \
	"$(pg_sql postgres "SELECT concat_ws(' ', created_by, key_id, reason) FROM tearshare.booking WHERE kind = 'charge'")"
same "invoices" "700 900" "$(pg_sql postgres "SELECT string_agg(total_minor::text, ' ' ORDER BY invoice_id) FROM tearshare.invoice")"
same "the second in place of the first" "1" "$(pg_sql postgres "SELECT replaces_id FROM tearshare.invoice WHERE invoice_id = 2")"
same "what is owed to suppliers" "-900" \
	"$(pg_sql postgres "SELECT sum(amount_minor) FROM tearshare.ledger_entry WHERE account_kind = 'supplier'")"
same "shares of the last settlement" "360 540" "$(pg_sql postgres \
	"SELECT string_agg(share_minor::text, ' ' ORDER BY member_id) FROM tearshare.share WHERE settlement_id = 2")"
same "the shelf" "3000" "$(pg_sql postgres "SELECT sum(amount_minor) FROM tearshare.ledger_entry WHERE account_kind = 'shelf'")"
same "taken for a plan that is not settled" "1500" "$(pg_sql postgres \
	"SELECT sum(amount_minor) FROM tearshare.ledger_entry WHERE account_kind = 'cost' AND workshop_id = 2")"
# The next booking gets a number of its own.
pg_sql tearshare_daemon "BEGIN; INSERT INTO tearshare.booking (studio_id, kind, workshop_id, legs, created_by) VALUES (1, 'payment', 1, 2, 1);
	INSERT INTO tearshare.ledger_entry (studio_id, booking_id, account_id, account_kind, workshop_id, member_id, currency, amount_minor)
	SELECT 1, max(b.booking_id), a.account_id, a.kind, 1, a.member_id, 'EUR', CASE a.kind WHEN 'member' THEN -5 ELSE 5 END
	FROM tearshare.booking b, tearshare.account a WHERE (a.kind, coalesce(a.member_id, 0)) IN (('member', 2), ('payee', 0))
	GROUP BY a.account_id, a.kind, a.member_id; COMMIT" >/dev/null || status=1
exit $status
