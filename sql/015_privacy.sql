-- SPDX-License-Identifier: MIT
-- What is kept of a person: all of it told to them, erased but for what the books need,
-- and kept no longer than it says.

ALTER TABLE member ADD COLUMN erased_at timestamptz;

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
		'created_at', instant_text(m.created_at), 'erased_at', instant_text(m.erased_at), 'version', m.version)
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

-- ---- erasing ----

-- Why a member cannot be erased yet, and what to do about it.  Once nothing is owed, only the
-- number is needed; until then somebody must be reached.
CREATE VIEW member_held (studio_id, member_id, what, hint) AS
SELECT e.studio_id, e.member_id, format('something is still owed or credited in workshop %s', e.workshop_id),
	'Book the payment, refund it, carry it or write it off first.'
FROM ledger_entry e WHERE e.member_id IS NOT NULL
GROUP BY e.studio_id, e.member_id, e.workshop_id, e.currency HAVING sum(e.amount_minor) <> 0

UNION
SELECT e.studio_id, a.member_id, format('something is still owed or credited in workshop %s', e.workshop_id),
	'Book the payment, refund it, carry it or write it off first.'
FROM ledger_entry e JOIN account a USING (studio_id, account_id) WHERE a.kind = 'member'
GROUP BY e.studio_id, a.member_id, e.workshop_id, e.currency HAVING sum(e.amount_minor) <> 0

UNION
SELECT e.studio_id, a.member_id, 'what they have advanced, or hold for the studio, is not even yet',
	'Book what went to them first: payments with payee_id, or refunds.'
FROM ledger_entry e JOIN account a USING (studio_id, account_id) WHERE a.kind = 'payee' AND a.member_id IS NOT NULL
GROUP BY e.studio_id, a.member_id, e.currency HAVING sum(e.amount_minor) <> 0

UNION
SELECT r.studio_id, r.member_id, format('request %s stands in workshop %s, which is %s', r.request_id, r.workshop_id, w.state),
	CASE WHEN w.state = 'open' THEN 'Withdraw it first.' ELSE 'Settle the workshop first.' END
FROM request r JOIN workshop w USING (studio_id, workshop_id)
WHERE r.withdrawn_at IS NULL AND w.state <> 'settled'

UNION
SELECT m.studio_id, m.payer_id, format('they pay for member %s', m.member_id),
	format('Let member %s pay for themselves first: payer_id null.', m.member_id)
FROM member m WHERE m.payer_id IS NOT NULL;

-- What people have written freely, for others to read.
CREATE VIEW free_text (studio_id, part, row_id, value) AS
SELECT studio_id, 'studio', studio_id, t FROM studio, unnest(ARRAY[name, side_up, rules, payee_name, payee_account]::text[]) t
UNION ALL SELECT studio_id, 'paper', paper_id, t FROM paper, unnest(ARRAY[name, fibre, colour, compare::text]::text[]) t
UNION ALL SELECT studio_id, 'stock', stock_id, t FROM stock, unnest(ARRAY[name, lot, place]::text[]) t
UNION ALL SELECT studio_id, 'workshop', workshop_id, name FROM workshop
UNION ALL SELECT studio_id, 'request', request_id, note FROM request
UNION ALL SELECT studio_id, 'key', key_id, name FROM key
UNION ALL SELECT studio_id, 'booking', booking_id, t
	FROM booking, unnest(ARRAY[method, reference, bank_reference, reason]::text[]) t
UNION ALL SELECT studio_id, 'invoice', invoice_id, t FROM invoice, unnest(ARRAY[number, supplier, note, reason]::text[]) t
UNION ALL SELECT studio_id, 'invoice_line', invoice_id, description FROM invoice_line
UNION ALL SELECT studio_id, 'member', member_id, t FROM member, unnest(ARRAY[name, contact]::text[]) t
UNION ALL SELECT studio_id, 'event', event_id, details::text FROM event;

-- As it may stand in an answer: plain, in JSON, in HTML.
CREATE FUNCTION as_answered(word text) RETURNS bytea[] LANGUAGE sql IMMUTABLE
	RETURN ARRAY[convert_to(word, 'UTF8'), convert_to(btrim(to_json(word)::text, '"'), 'UTF8'),
		convert_to(replace(replace(replace(replace(replace(word, '&', '&amp;'), '<', '&lt;'), '>', '&gt;'),
			'"', '&quot;'), '''', '&#39;'), 'UTF8')];

-- The member becomes a number.  Workshops first, then the member, as whoever writes locks
-- them: what is in the way is looked at when nothing can be added any more.  Answers kept for
-- requests of others are not forgotten but told differently: what they did stays done once.
-- A key that bookings name stays as a number, and opens nothing.
CREATE FUNCTION member_erase(of_studio bigint, of_member bigint)
	RETURNS TABLE (erased_at timestamptz, keys bigint, sessions bigint, notes bigint, answers bigint)
	LANGUAGE plpgsql AS $$
#variable_conflict use_column
DECLARE
	was tearshare.member;
	held text;
	own text[];
	marks bytea[];
	told bigint;
BEGIN
	PERFORM 1 FROM tearshare.workshop w WHERE w.studio_id = of_studio AND w.workshop_id IN
		(SELECT e.workshop_id FROM tearshare.enrolment e WHERE e.studio_id = of_studio AND e.member_id = of_member)
		ORDER BY w.workshop_id FOR UPDATE;
	SELECT * INTO was FROM tearshare.member m WHERE m.studio_id = of_studio AND m.member_id = of_member FOR UPDATE;
	keys := 0;
	sessions := 0;
	notes := 0;
	answers := 0;
	erased_at := was.erased_at;
	IF was.erased_at IS NOT NULL OR was.member_id IS NULL THEN
		RETURN NEXT;
		RETURN;
	END IF;
	SELECT min(h.what) INTO held FROM tearshare.member_held h WHERE h.studio_id = of_studio AND h.member_id = of_member;
	IF held IS NOT NULL THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'member_held', MESSAGE = held;
	END IF;

	SELECT array_agg(c) INTO own FROM (
		SELECT 'key:' || k.key_id AS c FROM tearshare.key k WHERE k.studio_id = of_studio AND k.member_id = of_member
		UNION ALL SELECT 'session:' || s.session_id FROM tearshare.session s
			WHERE s.studio_id = of_studio AND s.member_id = of_member) callers;
	DELETE FROM tearshare.kept_answer a WHERE a.studio_id = of_studio AND a.caller = ANY (own);
	GET DIAGNOSTICS answers = ROW_COUNT;
	marks := tearshare.as_answered(was.name);
	IF was.contact <> '' THEN
		marks := marks || tearshare.as_answered(was.contact);
	END IF;
	UPDATE tearshare.kept_answer a SET status = 409,
		fields = '{"Content-Type": "application/problem+json; charset=utf-8"}',
		body = convert_to('{"type":"/problems/conflict","title":"It is not in the state this needs","status":409,'
			|| '"detail":"this was done once; its answer told of a member who was erased since"}', 'UTF8')
		WHERE a.studio_id = of_studio AND EXISTS (SELECT 1 FROM unnest(marks) mark
			WHERE position(mark IN a.body) > 0 OR position(mark IN convert_to(a.fields::text, 'UTF8')) > 0);
	GET DIAGNOSTICS told = ROW_COUNT;
	answers := answers + told;

	DELETE FROM tearshare.session s WHERE s.studio_id = of_studio AND s.member_id = of_member;
	GET DIAGNOSTICS sessions = ROW_COUNT;
	SELECT count(*) INTO keys FROM tearshare.key k WHERE k.studio_id = of_studio AND k.member_id = of_member;
	DELETE FROM tearshare.key k WHERE k.studio_id = of_studio AND k.member_id = of_member
		AND NOT EXISTS (SELECT 1 FROM tearshare.booking b WHERE b.studio_id = of_studio AND b.key_id = k.key_id)
		AND NOT EXISTS (SELECT 1 FROM tearshare.invoice i WHERE i.studio_id = of_studio AND i.key_id = k.key_id);
	UPDATE tearshare.key k SET name = '', hash = sha256(uuid_send(gen_random_uuid()) || uuid_send(gen_random_uuid())),
		expires_at = NULL, last_used_at = NULL, revoked_at = coalesce(k.revoked_at, now())
		WHERE k.studio_id = of_studio AND k.member_id = of_member;
	UPDATE tearshare.request r SET note = '', version = r.version + 1
		WHERE r.studio_id = of_studio AND r.member_id = of_member AND r.note <> '';
	GET DIAGNOSTICS notes = ROW_COUNT;
	UPDATE tearshare.member m SET name = format('former member %s', of_member), contact = '', roles = 1,
		guardian = false, payer_id = NULL, active = false, erased_at = now(), version = m.version + 1
		WHERE m.studio_id = of_studio AND m.member_id = of_member
		RETURNING m.erased_at INTO erased_at;
	RETURN NEXT;
END $$;

CREATE FUNCTION member_erased_check() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'member_erased_stays',
		MESSAGE = format('member %s was erased', OLD.member_id);
END $$;
CREATE TRIGGER member_erased_stays BEFORE UPDATE ON member
	FOR EACH ROW WHEN (OLD.erased_at IS NOT NULL) EXECUTE FUNCTION member_erased_check();

-- ---- how long things are kept ----

-- In days, from the end of what it is: told in docs/privacy.md, held by sweep().
CREATE VIEW retention (what, days) AS VALUES
	('kept_answer', 7), -- since it was given
	('session', 30),    -- since it ended, or had run out
	('invitation', 30), -- since it had run out
	('log', 90);        -- since the line was written

-- After how many days a student is erased whose last workshop is settled; 0: never.
ALTER TABLE studio ADD forget_days integer NOT NULL DEFAULT 0,
	ADD CONSTRAINT studio_forget_in_range CHECK (forget_days BETWEEN 0 AND 36500);

CREATE FUNCTION retained(of_what text) RETURNS interval LANGUAGE sql STABLE
	RETURN (SELECT make_interval(days => r.days) FROM tearshare.retention r WHERE r.what = of_what);

-- Students whom nothing keeps: every workshop of theirs is settled, and long ago.
CREATE FUNCTION sweep_members(at timestamptz) RETURNS bigint LANGUAGE plpgsql AS $$
DECLARE
	due record;
	n bigint := 0;
BEGIN
	FOR due IN SELECT m.studio_id, m.member_id
			FROM tearshare.member m JOIN tearshare.studio d ON d.studio_id = m.studio_id AND d.forget_days > 0
			WHERE m.roles = 1 AND m.erased_at IS NULL
				AND EXISTS (SELECT 1 FROM tearshare.enrolment e
					WHERE e.studio_id = m.studio_id AND e.member_id = m.member_id)
				AND NOT EXISTS (SELECT 1 FROM tearshare.enrolment e JOIN tearshare.workshop w USING (studio_id, workshop_id)
					WHERE e.studio_id = m.studio_id AND e.member_id = m.member_id
					AND (w.state <> 'settled' OR sweep_members.at - make_interval(days => d.forget_days) <=
						(SELECT max(s.created_at) FROM tearshare.settlement s
							WHERE s.studio_id = w.studio_id AND s.workshop_id = w.workshop_id)))
				AND NOT EXISTS (SELECT 1 FROM tearshare.member_held h
					WHERE h.studio_id = m.studio_id AND h.member_id = m.member_id)
			ORDER BY m.member_id LIMIT 100 LOOP
		PERFORM tearshare.member_erase(due.studio_id, due.member_id);
		INSERT INTO tearshare.event (studio_id, member_id, kind) VALUES (due.studio_id, due.member_id, 'member-erased');
		n := n + 1;
	END LOOP;
	RETURN n;
END $$;

-- What is past its time by that clock goes.  log_day: a log that begins before that day is put
-- aside, and what was put aside before is dropped: half the time, so that no line grows older.
CREATE FUNCTION sweep(at timestamptz)
	RETURNS TABLE (answers bigint, sessions bigint, invitations bigint, members bigint, log_day text)
	LANGUAGE plpgsql AS $$
BEGIN
	answers := 0;
	sessions := 0;
	invitations := 0;
	members := 0;
	log_day := to_char((at - tearshare.retained('log') / 2) AT TIME ZONE 'UTC', 'YYYY-MM-DD');
	-- Two daemons at once would only wait for each other.
	IF NOT pg_try_advisory_xact_lock(hashtextextended('sweep', 0)) THEN
		RETURN NEXT;
		RETURN;
	END IF;
	DELETE FROM tearshare.kept_answer a WHERE a.created_at < at - tearshare.retained('kept_answer');
	GET DIAGNOSTICS answers = ROW_COUNT;
	-- When a session runs out is told in daemon/store/people.c.
	DELETE FROM tearshare.session s USING tearshare.member m
		WHERE m.studio_id = s.studio_id AND m.member_id = s.member_id AND at - tearshare.retained('session') >
			coalesce(s.ended_at, CASE WHEN m.roles & 14 = 0
				THEN least(s.last_seen_at + interval '30 days', s.created_at + interval '180 days')
				ELSE least(s.last_seen_at + interval '24 hours', s.created_at + interval '30 days') END);
	GET DIAGNOSTICS sessions = ROW_COUNT;
	DELETE FROM tearshare.invitation i WHERE i.expires_at < at - tearshare.retained('invitation');
	GET DIAGNOSTICS invitations = ROW_COUNT;
	members := tearshare.sweep_members(at);
	RETURN NEXT;
END $$;

-- ---- rights ----

REVOKE ALL ON member_data, member_held, free_text, retention FROM PUBLIC;
GRANT SELECT ON member_data, member_held, free_text, retention TO tearshare_daemon;
GRANT DELETE ON key TO tearshare_daemon;
GRANT UPDATE (status, fields, body) ON kept_answer TO tearshare_daemon;
REVOKE ALL ON FUNCTION instant_text(timestamptz), as_answered(text), member_erase(bigint, bigint),
	member_erased_check(), retained(text), sweep_members(timestamptz), sweep(timestamptz) FROM PUBLIC;
-- They run as whoever calls them, and so do a view's functions.
GRANT EXECUTE ON FUNCTION instant_text(timestamptz), as_answered(text), member_erase(bigint, bigint),
	retained(text), sweep_members(timestamptz), sweep(timestamptz) TO tearshare_daemon;
