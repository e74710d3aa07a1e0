-- SPDX-License-Identifier: MIT
-- What is kept of a person: all of it told to them.

-- RFC 3339 in UTC, to the second.
CREATE FUNCTION instant_text(at timestamptz) RETURNS text LANGUAGE sql STABLE
	RETURN to_char(at AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS"Z"');

-- ---- all of a person's rows ----

-- One row for each row of a table that names the person, and what of it is about them.  as_what:
--
--     own       it is theirs
--     by        they made it, for the studio or for somebody else: only that they did
--     payer     they pay for somebody, or their account stood for somebody
--     advanced  they paid a supplier
--
-- Secrets are not in it, nor anything about another person but the number under which it is
-- kept.  A table that gets a key of a member gets its rows here (tests/web/privacy.mjs).
CREATE VIEW member_data (studio_id, member_id, part, row_id, as_what, data) AS
SELECT m.studio_id, m.member_id, 'member', m.member_id, 'own',
	json_build_object('id', m.member_id, 'name', m.name, 'contact', m.contact, 'roles', m.roles,
		'guardian', m.guardian, 'payer_id', m.payer_id, 'active', m.active,
		'created_at', instant_text(m.created_at), 'version', m.version)
FROM member m

UNION ALL
SELECT m.studio_id, m.payer_id, 'member', m.member_id, 'payer', json_build_object('id', m.member_id)
FROM member m WHERE m.payer_id IS NOT NULL

UNION ALL
SELECT k.studio_id, k.member_id, 'key', k.key_id, 'own',
	json_build_object('id', k.key_id, 'name', k.name, 'created_at', instant_text(k.created_at),
		'expires_at', instant_text(k.expires_at), 'last_used_at', instant_text(k.last_used_at),
		'revoked_at', instant_text(k.revoked_at))
FROM key k

UNION ALL
SELECT s.studio_id, s.member_id, 'session', s.session_id, 'own',
	json_build_object('id', s.session_id, 'agent', s.agent, 'created_at', instant_text(s.created_at),
		'last_seen_at', instant_text(s.last_seen_at), 'ended_at', instant_text(s.ended_at))
FROM session s

UNION ALL
SELECT e.studio_id, e.member_id, 'enrolment', e.workshop_id, 'own',
	json_build_object('workshop_id', e.workshop_id, 'workshop', w.name, 'created_at', instant_text(e.created_at))
FROM enrolment e JOIN workshop w USING (studio_id, workshop_id)

UNION ALL
SELECT r.studio_id, r.member_id, 'request', r.request_id, 'own',
	json_build_object('id', r.request_id, 'workshop_id', r.workshop_id, 'paper_id', r.paper_id, 'paper', p.name,
		'count', r.count, 'across', r.across_text, 'along', r.along_text, 'margin', r.margin_text,
		'across_u', r.across_u, 'along_u', r.along_u, 'margin_u', r.margin_u,
		'torn_across_u', r.torn_across_u, 'torn_along_u', r.torn_along_u, 'turn', r.turn, 'note', r.note,
		'created_at', instant_text(r.created_at), 'withdrawn_at', instant_text(r.withdrawn_at),
		'version', r.version)
FROM request r JOIN paper p USING (studio_id, paper_id)

UNION ALL
SELECT p.studio_id, p.created_by, 'plan', p.plan_id, 'by',
	json_build_object('id', p.plan_id, 'workshop_id', p.workshop_id, 'number', p.number,
		'created_at', instant_text(p.created_at))
FROM plan p
UNION ALL
SELECT p.studio_id, p.accepted_by, 'plan', p.plan_id, 'by',
	json_build_object('id', p.plan_id, 'workshop_id', p.workshop_id, 'number', p.number,
		'accepted_at', instant_text(p.accepted_at))
FROM plan p WHERE p.accepted_by IS NOT NULL

UNION ALL
SELECT s.studio_id, s.moved_by, 'stock', s.stock_id, 'by', json_build_object('id', s.stock_id)
FROM stock s WHERE s.moved_by IS NOT NULL

UNION ALL
SELECT s.studio_id, s.created_by, 'settlement', s.settlement_id, 'by',
	json_build_object('id', s.settlement_id, 'workshop_id', s.workshop_id, 'number', s.number,
		'created_at', instant_text(s.created_at))
FROM settlement s

UNION ALL
SELECT h.studio_id, h.member_id, 'share', h.settlement_id, 'own',
	json_build_object('settlement_id', h.settlement_id, 'workshop_id', s.workshop_id,
		'share_minor', h.share_minor, 'currency', s.currency, 'derivation', h.derivation,
		'created_at', instant_text(s.created_at))
FROM share h JOIN settlement s USING (studio_id, settlement_id)

UNION ALL
SELECT a.studio_id, a.member_id, 'account', a.account_id, 'own',
	json_build_object('id', a.account_id, 'kind', a.kind, 'created_at', instant_text(a.created_at))
FROM account a WHERE a.member_id IS NOT NULL

UNION ALL
SELECT e.studio_id, e.member_id, 'ledger_entry', e.entry_id, 'own',
	json_build_object('id', e.entry_id, 'booking_id', e.booking_id, 'kind', b.kind, 'workshop_id', e.workshop_id,
		'amount_minor', e.amount_minor, 'currency', e.currency, 'method', b.method, 'reference', b.reference,
		'bank_reference', b.bank_reference, 'reason', b.reason, 'paid_on', b.paid_on,
		'settlement_id', b.settlement_id, 'reverses_booking_id', b.reverses_id,
		'created_at', instant_text(b.created_at))
FROM ledger_entry e JOIN booking b USING (studio_id, booking_id) WHERE e.member_id IS NOT NULL
UNION ALL
SELECT e.studio_id, a.member_id, 'ledger_entry', e.entry_id, 'payer',
	json_build_object('id', e.entry_id, 'booking_id', e.booking_id, 'account_id', e.account_id, 'kind', b.kind,
		'workshop_id', e.workshop_id, 'amount_minor', e.amount_minor, 'currency', e.currency,
		'created_at', instant_text(b.created_at))
FROM ledger_entry e JOIN account a USING (studio_id, account_id) JOIN booking b USING (studio_id, booking_id)
WHERE a.member_id IS NOT NULL AND a.member_id IS DISTINCT FROM e.member_id

UNION ALL
SELECT b.studio_id, b.payer_id, 'booking', b.booking_id, 'payer',
	json_build_object('id', b.booking_id, 'kind', b.kind, 'workshop_id', b.workshop_id, 'method', b.method,
		'reference', b.reference, 'bank_reference', b.bank_reference, 'paid_on', b.paid_on,
		'created_at', instant_text(b.created_at))
FROM booking b WHERE b.payer_id IS NOT NULL
UNION ALL
SELECT b.studio_id, b.created_by, 'booking', b.booking_id, 'by',
	json_build_object('id', b.booking_id, 'kind', b.kind, 'workshop_id', b.workshop_id, 'key_id', b.key_id,
		'created_at', instant_text(b.created_at))
FROM booking b

UNION ALL
SELECT i.studio_id, i.advanced_by, 'invoice', i.invoice_id, 'advanced',
	json_build_object('id', i.invoice_id, 'workshop_id', i.workshop_id, 'number', i.number, 'supplier', i.supplier,
		'dated_on', i.dated_on, 'total_minor', i.total_minor, 'currency', i.currency,
		'created_at', instant_text(i.created_at))
FROM invoice i WHERE i.advanced_by IS NOT NULL
UNION ALL
SELECT i.studio_id, i.created_by, 'invoice', i.invoice_id, 'by',
	json_build_object('id', i.invoice_id, 'workshop_id', i.workshop_id, 'key_id', i.key_id,
		'created_at', instant_text(i.created_at))
FROM invoice i

UNION ALL
SELECT v.studio_id, v.member_id, 'event', v.event_id, 'own',
	json_build_object('id', v.event_id, 'workshop_id', v.workshop_id, 'kind', v.kind, 'by', v.by_member,
		'details', v.details, 'at', instant_text(v.at))
FROM event v WHERE v.member_id IS NOT NULL
UNION ALL
SELECT v.studio_id, v.by_member, 'event', v.event_id, 'by',
	json_build_object('id', v.event_id, 'workshop_id', v.workshop_id, 'kind', v.kind, 'at', instant_text(v.at))
FROM event v WHERE v.by_member IS NOT NULL AND v.by_member IS DISTINCT FROM v.member_id;

-- ---- rights ----

REVOKE ALL ON member_data FROM PUBLIC;
GRANT SELECT ON member_data TO tearshare_daemon;
REVOKE ALL ON FUNCTION instant_text(timestamptz) FROM PUBLIC;
-- A view's functions are called by whoever reads it.
GRANT EXECUTE ON FUNCTION instant_text(timestamptz) TO tearshare_daemon;
