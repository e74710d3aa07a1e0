-- SPDX-License-Identifier: MIT
-- Books: invoices as lines, and a ledger of double entry.  Rows are only added.
--
-- A booking says who, when, why and where from; its entries are its legs, debits positive and
-- credits negative, and add up to nothing in each currency.  Accounts belong to a studio:
--
--   member     what a member owes (debit) or has paid too much (credit); a guardian's account
--              stands for a child, so an entry also names the member for whom it is
--   payee      what came in: at the studio (no member), or at a member who advanced the money
--   supplier   what the studio owes, or has paid, for its invoices
--   cost       what the paper of a workshop has cost and nobody is charged yet: an invoice and
--              stock taken from the shelf go in, charges and stock kept go out
--   shelf      what lies on the shelf, at the value at which it was kept
--   write-off  what the studio gives up
--   capital    what the studio itself brings in: stock put on the shelf by hand
--
-- Looked at when a transaction ends: a booking is balanced and has the legs it said it has; a
-- settlement's shares and charges add up; an invoice's lines add up to what is printed on it.  Entries
-- and lines that come later than their booking or invoice are refused at once.

-- ---- accounts ----

ALTER TABLE member ADD COLUMN payer_id bigint,
	ADD CONSTRAINT member_payer FOREIGN KEY (studio_id, payer_id) REFERENCES member (studio_id, member_id),
	ADD CONSTRAINT member_payer_is_another CHECK (payer_id <> member_id);
CREATE INDEX member_by_payer ON member (studio_id, payer_id) WHERE payer_id IS NOT NULL;

CREATE TABLE account (
	studio_id bigint NOT NULL,
	account_id bigint GENERATED ALWAYS AS IDENTITY,
	kind text NOT NULL,
	member_id bigint,
	created_at timestamptz NOT NULL DEFAULT now(),
	CONSTRAINT account_key PRIMARY KEY (studio_id, account_id),
	CONSTRAINT account_with_kind UNIQUE (studio_id, account_id, kind),
	CONSTRAINT account_once UNIQUE NULLS NOT DISTINCT (studio_id, kind, member_id),
	CONSTRAINT account_of_studio FOREIGN KEY (studio_id) REFERENCES studio,
	CONSTRAINT account_of_member FOREIGN KEY (studio_id, member_id) REFERENCES member,
	CONSTRAINT account_kind_known CHECK (kind IN
		('member', 'payee', 'supplier', 'cost', 'shelf', 'write-off', 'capital')),
	CONSTRAINT account_has_holder
		CHECK (kind = 'payee' OR (kind = 'member') = (member_id IS NOT NULL))
);

CREATE FUNCTION studio_opens_accounts() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	INSERT INTO tearshare.account (studio_id, kind)
		SELECT NEW.studio_id, k FROM unnest(ARRAY['payee', 'supplier', 'cost', 'shelf', 'write-off', 'capital']) k;
	RETURN NULL;
END $$;
CREATE TRIGGER studio_opens_accounts AFTER INSERT ON studio
	FOR EACH ROW EXECUTE FUNCTION studio_opens_accounts();
CREATE FUNCTION member_opens_accounts() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	INSERT INTO tearshare.account (studio_id, kind, member_id)
		SELECT NEW.studio_id, k, NEW.member_id FROM unnest(ARRAY['member', 'payee']) k;
	RETURN NULL;
END $$;
CREATE TRIGGER member_opens_accounts AFTER INSERT ON member
	FOR EACH ROW EXECUTE FUNCTION member_opens_accounts();
INSERT INTO account (studio_id, kind)
	SELECT studio_id, k FROM studio, unnest(ARRAY['payee', 'supplier', 'cost', 'shelf', 'write-off', 'capital']) k;
INSERT INTO account (studio_id, kind, member_id)
	SELECT studio_id, k, member_id FROM member, unnest(ARRAY['member', 'payee']) k;

-- ---- invoices ----

-- In force: every invoice that no other replaces.  One that is withdrawn is replaced by an
-- empty one that says why.  by_paper: entered as one amount a paper while settling.
CREATE TABLE invoice (
	studio_id bigint NOT NULL,
	invoice_id bigint GENERATED ALWAYS AS IDENTITY,
	workshop_id bigint NOT NULL,
	number text_line NOT NULL DEFAULT '',
	supplier text_line NOT NULL DEFAULT '',
	dated_on date,
	currency currency_code NOT NULL,
	tax_included boolean NOT NULL DEFAULT false,
	total_minor bigint NOT NULL,
	lines integer NOT NULL,
	by_paper boolean NOT NULL DEFAULT false,
	withdrawn boolean NOT NULL DEFAULT false,
	note text_line NOT NULL DEFAULT '',
	advanced_by bigint,
	replaces_id bigint,
	reason text_line NOT NULL DEFAULT '',
	created_at timestamptz NOT NULL DEFAULT now(),
	created_by bigint NOT NULL,
	key_id bigint,
	CONSTRAINT invoice_key PRIMARY KEY (studio_id, invoice_id),
	CONSTRAINT invoice_with_workshop UNIQUE (studio_id, invoice_id, workshop_id),
	CONSTRAINT invoice_of_workshop FOREIGN KEY (studio_id, workshop_id) REFERENCES workshop,
	CONSTRAINT invoice_replaces FOREIGN KEY (studio_id, replaces_id, workshop_id)
		REFERENCES invoice (studio_id, invoice_id, workshop_id),
	CONSTRAINT invoice_replaced_once UNIQUE (studio_id, replaces_id),
	CONSTRAINT invoice_advanced_by_member
		FOREIGN KEY (studio_id, advanced_by) REFERENCES member (studio_id, member_id),
	CONSTRAINT invoice_by_member FOREIGN KEY (studio_id, created_by) REFERENCES member (studio_id, member_id),
	CONSTRAINT invoice_by_key FOREIGN KEY (studio_id, key_id) REFERENCES key,
	CONSTRAINT invoice_date_is_real CHECK (isfinite(dated_on)),
	CONSTRAINT invoice_total_in_range
		CHECK (total_minor BETWEEN -1000000000000000 AND 1000000000000000),
	CONSTRAINT invoice_lines_in_range CHECK (lines BETWEEN 0 AND 1000),
	CONSTRAINT invoice_withdrawn_is_empty
		CHECK (NOT withdrawn OR (lines = 0 AND total_minor = 0 AND replaces_id IS NOT NULL))
);
CREATE INDEX invoice_by_workshop ON invoice (studio_id, workshop_id, invoice_id);

CREATE TABLE invoice_line (
	studio_id bigint NOT NULL,
	invoice_id bigint NOT NULL,
	line integer NOT NULL,
	kind text NOT NULL,
	paper_id bigint,
	stock_id bigint,
	description text_line NOT NULL DEFAULT '',
	count integer,
	unit_minor bigint,
	amount_minor bigint NOT NULL,
	tax_rate_ppm integer,
	tax_base_minor bigint,
	CONSTRAINT invoice_line_key PRIMARY KEY (studio_id, invoice_id, line),
	CONSTRAINT invoice_line_of_invoice FOREIGN KEY (studio_id, invoice_id) REFERENCES invoice,
	CONSTRAINT invoice_line_of_paper FOREIGN KEY (studio_id, paper_id) REFERENCES paper,
	CONSTRAINT invoice_line_of_stock FOREIGN KEY (studio_id, stock_id) REFERENCES stock,
	CONSTRAINT invoice_line_numbered CHECK (line BETWEEN 1 AND 1000),
	CONSTRAINT invoice_line_kind_known CHECK (kind IN ('rolls', 'shipping', 'tax', 'discount', 'other')),
	CONSTRAINT invoice_line_rolls_have_paper CHECK (kind <> 'rolls' OR paper_id IS NOT NULL),
	CONSTRAINT invoice_line_count_in_range CHECK (count BETWEEN 1 AND 1000000),
	CONSTRAINT invoice_line_is_count_times_price
		CHECK (count IS NULL OR unit_minor IS NULL OR count::numeric * unit_minor = amount_minor),
	CONSTRAINT invoice_line_amount_in_range
		CHECK (amount_minor BETWEEN -1000000000000000 AND 1000000000000000),
	CONSTRAINT invoice_line_discount_is_taken_off CHECK (kind <> 'discount' OR amount_minor <= 0),
	CONSTRAINT invoice_line_tax_rate_in_range CHECK (tax_rate_ppm BETWEEN 0 AND 10000000),
	CONSTRAINT invoice_line_rate_is_of_tax
		CHECK (kind = 'tax' OR (tax_rate_ppm IS NULL AND tax_base_minor IS NULL))
);

-- ---- settlements: what they were made of ----

-- Shared among the members: invoice_minor (invoices, and prices of the plan for what is not
-- invoiced yet: estimated_minor), with stock taken from the shelf, without stock kept on it.
ALTER TABLE settlement
	ADD COLUMN estimated_minor bigint NOT NULL DEFAULT 0,
	ADD COLUMN used_minor bigint NOT NULL DEFAULT 0,
	ADD COLUMN kept_minor bigint NOT NULL DEFAULT 0,
	ADD COLUMN policy json NOT NULL DEFAULT '{}',
	ADD COLUMN derivation json NOT NULL DEFAULT '[]',
	ADD CONSTRAINT settlement_policy_is_object CHECK (json_typeof(policy) = 'object'),
	ADD CONSTRAINT settlement_estimate_in_range CHECK (estimated_minor BETWEEN 0 AND 1000000000000000),
	ADD CONSTRAINT settlement_shelf_in_range CHECK (used_minor BETWEEN 0 AND 1000000000000000
		AND kept_minor BETWEEN 0 AND 1000000000000000);

CREATE TABLE settlement_invoice (
	studio_id bigint NOT NULL,
	settlement_id bigint NOT NULL,
	invoice_id bigint NOT NULL,
	CONSTRAINT settlement_invoice_key PRIMARY KEY (studio_id, settlement_id, invoice_id),
	CONSTRAINT settlement_invoice_of_settlement FOREIGN KEY (studio_id, settlement_id) REFERENCES settlement,
	CONSTRAINT settlement_invoice_of_invoice FOREIGN KEY (studio_id, invoice_id) REFERENCES invoice
);
CREATE INDEX settlement_invoice_by_invoice ON settlement_invoice (studio_id, invoice_id);

-- What each member's share is with this settlement, in all, and how it was reckoned.
CREATE TABLE share (
	studio_id bigint NOT NULL,
	settlement_id bigint NOT NULL,
	member_id bigint NOT NULL,
	share_minor bigint NOT NULL,
	derivation json NOT NULL DEFAULT '{}',
	CONSTRAINT share_key PRIMARY KEY (studio_id, settlement_id, member_id),
	CONSTRAINT share_of_settlement FOREIGN KEY (studio_id, settlement_id) REFERENCES settlement,
	CONSTRAINT share_of_member FOREIGN KEY (studio_id, member_id) REFERENCES member,
	CONSTRAINT share_in_range CHECK (share_minor BETWEEN -1000000000000000 AND 1000000000000000),
	CONSTRAINT share_derivation_is_object CHECK (json_typeof(derivation) = 'object')
);
INSERT INTO share (studio_id, settlement_id, member_id, share_minor)
	SELECT s.studio_id, s.settlement_id, e.member_id, sum(e.amount_minor)
	FROM settlement s JOIN settlement b ON b.studio_id = s.studio_id AND b.workshop_id = s.workshop_id
			AND b.number <= s.number
		JOIN ledger_entry e ON e.studio_id = b.studio_id AND e.settlement_id = b.settlement_id
	GROUP BY s.studio_id, s.settlement_id, e.member_id;

-- ---- bookings and their legs ----

-- legs: how many entries it has.  bank_reference: the bank's own name of the line on its
-- list; booked once, and again only after that booking was reversed (bank_time counts).
CREATE TABLE booking (
	studio_id bigint NOT NULL,
	booking_id bigint GENERATED ALWAYS AS IDENTITY,
	kind text NOT NULL,
	workshop_id bigint,
	settlement_id bigint,
	invoice_id bigint,
	plan_id bigint,
	stock_id bigint,
	reverses_id bigint,
	payer_id bigint,
	method text_line NOT NULL DEFAULT '',
	reference text_line NOT NULL DEFAULT '',
	bank_reference name_line,
	bank_time integer NOT NULL DEFAULT 0,
	reason text_line NOT NULL DEFAULT '',
	paid_on date,
	legs integer NOT NULL,
	created_at timestamptz NOT NULL DEFAULT now(),
	created_by bigint NOT NULL,
	key_id bigint,
	CONSTRAINT booking_key PRIMARY KEY (studio_id, booking_id),
	CONSTRAINT booking_of_studio FOREIGN KEY (studio_id) REFERENCES studio,
	CONSTRAINT booking_of_workshop FOREIGN KEY (studio_id, workshop_id) REFERENCES workshop,
	CONSTRAINT booking_of_settlement FOREIGN KEY (studio_id, settlement_id, workshop_id)
		REFERENCES settlement (studio_id, settlement_id, workshop_id),
	CONSTRAINT booking_of_invoice FOREIGN KEY (studio_id, invoice_id, workshop_id)
		REFERENCES invoice (studio_id, invoice_id, workshop_id),
	CONSTRAINT booking_of_plan FOREIGN KEY (studio_id, plan_id) REFERENCES plan,
	CONSTRAINT booking_of_stock FOREIGN KEY (studio_id, stock_id) REFERENCES stock,
	CONSTRAINT booking_reverses FOREIGN KEY (studio_id, reverses_id) REFERENCES booking (studio_id, booking_id),
	CONSTRAINT booking_paid_by_member FOREIGN KEY (studio_id, payer_id) REFERENCES member (studio_id, member_id),
	CONSTRAINT booking_by_member FOREIGN KEY (studio_id, created_by) REFERENCES member (studio_id, member_id),
	CONSTRAINT booking_by_key FOREIGN KEY (studio_id, key_id) REFERENCES key,
	CONSTRAINT booking_reversed_once UNIQUE (studio_id, reverses_id),
	CONSTRAINT booking_bank_line_once UNIQUE (studio_id, bank_reference, bank_time),
	CONSTRAINT booking_kind_known CHECK (kind IN ('charge', 'adjustment', 'payment', 'refund', 'reversal',
		'correction', 'write-off', 'transfer', 'carry', 'invoice', 'stock-in', 'stock-out')),
	CONSTRAINT booking_has_legs CHECK (legs >= 2),
	CONSTRAINT booking_has_workshop CHECK (workshop_id IS NOT NULL OR kind IN ('stock-in', 'stock-out')),
	CONSTRAINT booking_charge_has_settlement
		CHECK ((kind IN ('charge', 'adjustment')) = (settlement_id IS NOT NULL)),
	CONSTRAINT booking_invoice_has_invoice CHECK (kind <> 'invoice' OR invoice_id IS NOT NULL),
	CONSTRAINT booking_stock_has_stock CHECK ((kind IN ('stock-in', 'stock-out')) = (stock_id IS NOT NULL)),
	CONSTRAINT booking_reversal_names_original CHECK ((kind = 'reversal') = (reverses_id IS NOT NULL)),
	CONSTRAINT booking_bank_line_is_money
		CHECK (bank_reference IS NULL OR kind IN ('payment', 'refund')),
	CONSTRAINT booking_says_why
		CHECK (reason ~ '[^[:space:]]' OR kind NOT IN ('correction', 'write-off', 'transfer'))
);
CREATE INDEX booking_by_workshop ON booking (studio_id, workshop_id, booking_id);
CREATE INDEX booking_by_settlement ON booking (studio_id, settlement_id) WHERE settlement_id IS NOT NULL;
CREATE INDEX booking_by_invoice ON booking (studio_id, invoice_id) WHERE invoice_id IS NOT NULL;
CREATE INDEX booking_by_stock ON booking (studio_id, stock_id) WHERE stock_id IS NOT NULL;

CREATE TABLE entry_before AS SELECT * FROM ledger_entry;
DROP TABLE ledger_entry;
DROP FUNCTION reversal_matches_check();

-- member_id: for whom, on a member's account; the account may be a guardian's.
CREATE TABLE ledger_entry (
	studio_id bigint NOT NULL,
	entry_id bigint GENERATED ALWAYS AS IDENTITY,
	booking_id bigint NOT NULL,
	account_id bigint NOT NULL,
	account_kind text NOT NULL,
	workshop_id bigint,
	member_id bigint,
	currency currency_code NOT NULL,
	amount_minor bigint NOT NULL,
	CONSTRAINT ledger_entry_key PRIMARY KEY (studio_id, entry_id),
	CONSTRAINT entry_of_booking FOREIGN KEY (studio_id, booking_id) REFERENCES booking,
	CONSTRAINT entry_of_account FOREIGN KEY (studio_id, account_id, account_kind)
		REFERENCES account (studio_id, account_id, kind),
	CONSTRAINT entry_of_workshop FOREIGN KEY (studio_id, workshop_id) REFERENCES workshop,
	CONSTRAINT entry_member_takes_part
		FOREIGN KEY (studio_id, workshop_id, member_id) REFERENCES enrolment,
	CONSTRAINT entry_names_member CHECK ((account_kind = 'member') = (member_id IS NOT NULL)),
	CONSTRAINT entry_of_member_has_workshop CHECK (member_id IS NULL OR workshop_id IS NOT NULL),
	CONSTRAINT entry_amount_not_zero CHECK (amount_minor <> 0),
	CONSTRAINT entry_amount_in_range CHECK (amount_minor BETWEEN -1000000000000000 AND 1000000000000000)
);

-- What was there, as bookings.  Payments and reversals give their number to their booking and
-- keep it as their entry's; charges become one booking a settlement.
INSERT INTO booking (studio_id, booking_id, kind, workshop_id, method, reference, reason, paid_on, legs,
		created_at, created_by, key_id)
	OVERRIDING SYSTEM VALUE
	SELECT studio_id, entry_id, 'payment', workshop_id, method, reference, reason, paid_on, 2, created_at,
		created_by, key_id FROM entry_before WHERE kind = 'payment';
INSERT INTO booking (studio_id, booking_id, kind, workshop_id, reverses_id, method, reference, reason, paid_on,
		legs, created_at, created_by, key_id)
	OVERRIDING SYSTEM VALUE
	SELECT studio_id, entry_id, 'reversal', workshop_id, reverses_id, method, reference, reason, paid_on, 2,
		created_at, created_by, key_id FROM entry_before WHERE kind = 'reversal' AND settlement_id IS NULL;
INSERT INTO ledger_entry (studio_id, entry_id, booking_id, account_id, account_kind, workshop_id, member_id,
		currency, amount_minor)
	OVERRIDING SYSTEM VALUE
	SELECT e.studio_id, e.entry_id, e.entry_id, a.account_id, a.kind, e.workshop_id, e.member_id,
		coalesce((SELECT min(s.currency) FROM settlement s WHERE s.studio_id = e.studio_id
			AND s.workshop_id = e.workshop_id), d.currency), -e.amount_minor
	FROM entry_before e JOIN studio d USING (studio_id)
		JOIN account a ON a.studio_id = e.studio_id AND a.kind = 'member' AND a.member_id = e.member_id
	WHERE e.settlement_id IS NULL;
SELECT setval(pg_get_serial_sequence('booking', 'booking_id'), coalesce(max(entry_id), 0) + 1, false),
	setval(pg_get_serial_sequence('ledger_entry', 'entry_id'), coalesce(max(entry_id), 0) + 1, false)
	FROM entry_before;
INSERT INTO ledger_entry (studio_id, booking_id, account_id, account_kind, workshop_id, currency, amount_minor)
	SELECT e.studio_id, e.booking_id, a.account_id, a.kind, e.workshop_id, e.currency, -e.amount_minor
	FROM ledger_entry e JOIN account a ON a.studio_id = e.studio_id AND a.kind = 'payee' AND a.member_id IS NULL;

-- The invoices of a settlement were a list of amounts: one invoice by paper, replaced when it
-- changed.
DO $$
DECLARE
	s tearshare.settlement;
	cost bigint;
	supplier bigint;
	by_key bigint;
	made bigint;
	n integer;
	total bigint;
	last_workshop bigint := 0;
	last_invoice bigint;
	last_booking bigint;
	last_total bigint;
	last_parts text;
BEGIN
	FOR s IN SELECT * FROM tearshare.settlement ORDER BY workshop_id, number LOOP
		SELECT account_id INTO cost FROM tearshare.account WHERE studio_id = s.studio_id AND kind = 'cost';
		SELECT account_id INTO supplier FROM tearshare.account
			WHERE studio_id = s.studio_id AND kind = 'supplier';
		SELECT count(*), min(key_id) INTO n, by_key FROM tearshare.entry_before
			WHERE studio_id = s.studio_id AND settlement_id = s.settlement_id;
		IF last_workshop <> s.workshop_id THEN
			last_workshop := s.workshop_id;
			last_invoice := NULL;
			last_booking := NULL;
			last_total := 0;
			last_parts := '[]';
		END IF;
		SELECT coalesce(sum((p ->> 'amount_minor')::bigint), 0) INTO total FROM json_array_elements(s.parts) p;
		IF s.parts::text <> last_parts THEN
			INSERT INTO tearshare.invoice (studio_id, workshop_id, currency, total_minor, lines, by_paper,
				replaces_id, created_at, created_by, key_id)
				VALUES (s.studio_id, s.workshop_id, s.currency, total, json_array_length(s.parts), true,
				last_invoice, s.created_at, s.created_by, by_key)
				RETURNING invoice_id INTO made;
			INSERT INTO tearshare.invoice_line (studio_id, invoice_id, line, kind, paper_id, amount_minor)
				SELECT s.studio_id, made, p.n, 'rolls', (p.value ->> 'paper_id')::bigint,
					(p.value ->> 'amount_minor')::bigint
				FROM json_array_elements(s.parts) WITH ORDINALITY p (value, n);
			IF last_booking IS NOT NULL THEN
				INSERT INTO tearshare.booking (studio_id, kind, workshop_id, invoice_id, reverses_id, reason,
					legs, created_at, created_by, key_id)
					VALUES (s.studio_id, 'reversal', s.workshop_id, last_invoice, last_booking,
					'replaced by another invoice', 2, s.created_at, s.created_by, by_key)
					RETURNING booking_id INTO last_booking;
				INSERT INTO tearshare.ledger_entry (studio_id, booking_id, account_id, account_kind,
					workshop_id, currency, amount_minor)
					VALUES (s.studio_id, last_booking, cost, 'cost', s.workshop_id, s.currency, -last_total),
					(s.studio_id, last_booking, supplier, 'supplier', s.workshop_id, s.currency, last_total);
				last_booking := NULL;
			END IF;
			IF total <> 0 THEN
				INSERT INTO tearshare.booking (studio_id, kind, workshop_id, invoice_id, reason, legs,
					created_at, created_by, key_id)
					VALUES (s.studio_id, 'invoice', s.workshop_id, made, '', 2, s.created_at,
					s.created_by, by_key)
					RETURNING booking_id INTO last_booking;
				INSERT INTO tearshare.ledger_entry (studio_id, booking_id, account_id, account_kind,
					workshop_id, currency, amount_minor)
					VALUES (s.studio_id, last_booking, cost, 'cost', s.workshop_id, s.currency, total),
					(s.studio_id, last_booking, supplier, 'supplier', s.workshop_id, s.currency, -total);
			END IF;
			last_invoice := made;
			last_total := total;
			last_parts := s.parts::text;
		END IF;
		IF last_invoice IS NOT NULL THEN
			INSERT INTO tearshare.settlement_invoice VALUES (s.studio_id, s.settlement_id, last_invoice);
		END IF;
		IF n > 0 THEN
			INSERT INTO tearshare.booking (studio_id, kind, workshop_id, settlement_id, plan_id, reason, legs,
				created_at, created_by, key_id)
				SELECT s.studio_id, CASE s.number WHEN 1 THEN 'charge' ELSE 'adjustment' END, s.workshop_id,
					s.settlement_id, s.plan_id, min(reason), n + CASE s.charged_minor WHEN 0 THEN 0 ELSE 1 END,
					s.created_at, s.created_by, by_key
				FROM tearshare.entry_before
				WHERE studio_id = s.studio_id AND settlement_id = s.settlement_id
				RETURNING booking_id INTO made;
			INSERT INTO tearshare.ledger_entry (studio_id, entry_id, booking_id, account_id, account_kind,
				workshop_id, member_id, currency, amount_minor)
				OVERRIDING SYSTEM VALUE
				SELECT e.studio_id, e.entry_id, made, a.account_id, 'member', e.workshop_id, e.member_id,
					s.currency, e.amount_minor
				FROM tearshare.entry_before e JOIN tearshare.account a ON a.studio_id = e.studio_id
					AND a.kind = 'member' AND a.member_id = e.member_id
				WHERE e.studio_id = s.studio_id AND e.settlement_id = s.settlement_id;
			IF s.charged_minor <> 0 THEN
				INSERT INTO tearshare.ledger_entry (studio_id, booking_id, account_id, account_kind,
					workshop_id, currency, amount_minor)
					VALUES (s.studio_id, made, cost, 'cost', s.workshop_id, s.currency, -s.charged_minor);
			END IF;
		END IF;
	END LOOP;
END $$;
DROP TABLE entry_before;

-- What was not invoiced then was estimated.  The trigger is off for this one change.
ALTER TABLE settlement DISABLE TRIGGER settlement_only_added_to;
UPDATE settlement s SET estimated_minor = greatest(0, s.invoice_minor - coalesce((SELECT sum(i.total_minor)
	FROM settlement_invoice u JOIN invoice i USING (studio_id, invoice_id)
	WHERE u.studio_id = s.studio_id AND u.settlement_id = s.settlement_id), 0));
ALTER TABLE settlement ENABLE TRIGGER settlement_only_added_to;

-- The questions: a workshop's ledger, a member's, an account's.
CREATE INDEX ledger_entry_by_booking ON ledger_entry (studio_id, booking_id);
CREATE INDEX ledger_entry_by_workshop ON ledger_entry (studio_id, workshop_id, entry_id);
CREATE INDEX ledger_entry_by_member ON ledger_entry (studio_id, member_id, entry_id) WHERE member_id IS NOT NULL;
CREATE INDEX ledger_entry_by_member_in_workshop
	ON ledger_entry (studio_id, workshop_id, member_id, entry_id) WHERE member_id IS NOT NULL;
CREATE INDEX ledger_entry_by_account ON ledger_entry (studio_id, account_id, entry_id);

-- ---- what is looked at ----

CREATE FUNCTION booking_balances_check() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
	found integer;
	uneven text;
	odd text;
	moves text[] := CASE NEW.kind
		WHEN 'charge' THEN ARRAY['member', 'cost']
		WHEN 'adjustment' THEN ARRAY['member', 'cost']
		WHEN 'payment' THEN ARRAY['member', 'payee']
		WHEN 'refund' THEN ARRAY['member', 'payee']
		WHEN 'correction' THEN ARRAY['member', 'write-off', 'cost']
		WHEN 'write-off' THEN ARRAY['member', 'write-off']
		WHEN 'transfer' THEN ARRAY['member']
		WHEN 'carry' THEN ARRAY['member']
		WHEN 'invoice' THEN ARRAY['cost', 'supplier', 'payee']
		ELSE ARRAY['shelf', 'cost', 'capital'] END;
BEGIN
	SELECT count(*), min(account_kind) FILTER (WHERE account_kind <> ALL (moves))
		INTO found, odd FROM tearshare.ledger_entry
		WHERE studio_id = NEW.studio_id AND booking_id = NEW.booking_id;
	IF found <> NEW.legs THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'booking_has_its_legs',
			MESSAGE = format('booking %s has %s legs and says %s', NEW.booking_id, found, NEW.legs);
	END IF;
	SELECT min(format('%s %s', sum, currency)) INTO uneven FROM (
		SELECT currency, sum(amount_minor) FROM tearshare.ledger_entry
		WHERE studio_id = NEW.studio_id AND booking_id = NEW.booking_id
		GROUP BY currency HAVING sum(amount_minor) <> 0) s;
	IF uneven IS NOT NULL THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'booking_balances',
			MESSAGE = format('booking %s does not balance: %s too much', NEW.booking_id, uneven);
	END IF;
	IF NEW.kind <> 'reversal' AND odd IS NOT NULL THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'booking_moves_its_accounts',
			MESSAGE = format('a %s does not move the account %s', NEW.kind, odd);
	END IF;
	IF NEW.kind IN ('payment', 'write-off', 'refund') AND EXISTS (SELECT 1 FROM tearshare.ledger_entry
			WHERE studio_id = NEW.studio_id AND booking_id = NEW.booking_id AND account_kind = 'member'
			AND (amount_minor > 0) <> (NEW.kind = 'refund')) THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'booking_goes_its_way',
			MESSAGE = format('a %s is more than zero', NEW.kind);
	END IF;
	IF NEW.kind = 'reversal' AND EXISTS (
			(SELECT account_id, workshop_id, member_id, currency, -amount_minor FROM tearshare.ledger_entry
				WHERE studio_id = NEW.studio_id AND booking_id = NEW.booking_id
			EXCEPT ALL SELECT account_id, workshop_id, member_id, currency, amount_minor FROM tearshare.ledger_entry
				WHERE studio_id = NEW.studio_id AND booking_id = NEW.reverses_id)
			UNION ALL
			(SELECT account_id, workshop_id, member_id, currency, amount_minor FROM tearshare.ledger_entry
				WHERE studio_id = NEW.studio_id AND booking_id = NEW.reverses_id
			EXCEPT ALL SELECT account_id, workshop_id, member_id, currency, -amount_minor FROM tearshare.ledger_entry
				WHERE studio_id = NEW.studio_id AND booking_id = NEW.booking_id)) THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'booking_reversal_matches_original',
			MESSAGE = 'a reversal has the negated legs of the booking it names';
	END IF;
	RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER booking_balances AFTER INSERT ON booking
	DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION booking_balances_check();

-- Once a transaction is over no leg can be added: a booking would have more than it said.
CREATE FUNCTION entry_comes_with_booking_check() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
	late bigint;
BEGIN
	SELECT min(b.booking_id) INTO late FROM (SELECT DISTINCT studio_id, booking_id FROM added) a
		JOIN tearshare.booking b USING (studio_id, booking_id)
		WHERE b.legs < (SELECT count(*) FROM tearshare.ledger_entry e
			WHERE e.studio_id = b.studio_id AND e.booking_id = b.booking_id);
	IF late IS NOT NULL THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'entry_comes_with_booking',
			MESSAGE = format('booking %s has its legs: no more can be added', late);
	END IF;
	RETURN NULL;
END $$;
CREATE TRIGGER entry_comes_with_booking AFTER INSERT ON ledger_entry
	REFERENCING NEW TABLE AS added FOR EACH STATEMENT EXECUTE FUNCTION entry_comes_with_booking_check();

CREATE FUNCTION booking_reverses_check() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	IF NOT EXISTS (SELECT 1 FROM tearshare.booking o WHERE o.studio_id = NEW.studio_id
			AND o.booking_id = NEW.reverses_id AND o.workshop_id = NEW.workshop_id
			AND o.kind NOT IN ('reversal', 'charge', 'adjustment', 'stock-in', 'stock-out')
			AND (o.kind = 'invoice') = (NEW.invoice_id IS NOT NULL)
			AND o.invoice_id IS NOT DISTINCT FROM NEW.invoice_id) THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'booking_can_be_reversed',
			MESSAGE = 'only payments, refunds, write-offs, corrections, transfers and carried credit can be reversed';
	END IF;
	RETURN NEW;
END $$;
CREATE TRIGGER booking_can_be_reversed BEFORE INSERT ON booking
	FOR EACH ROW WHEN (NEW.kind = 'reversal') EXECUTE FUNCTION booking_reverses_check();

-- Two who book the same line of the bank's list wait for each other, and the second is told
-- which booking it is.
CREATE FUNCTION booking_bank_line_check() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
	there bigint;
BEGIN
	PERFORM pg_advisory_xact_lock(hashtextextended(NEW.bank_reference, NEW.studio_id));
	SELECT b.booking_id INTO there FROM tearshare.booking b WHERE b.studio_id = NEW.studio_id
		AND b.bank_reference = NEW.bank_reference AND NOT EXISTS (SELECT 1 FROM tearshare.booking r
			WHERE r.studio_id = b.studio_id AND r.reverses_id = b.booking_id);
	IF there IS NOT NULL THEN
		RAISE EXCEPTION USING ERRCODE = 'unique_violation', CONSTRAINT = 'booking_bank_line_once',
			MESSAGE = format('this line of the bank''s list is booked already, as booking %s', there);
	END IF;
	SELECT count(*) INTO NEW.bank_time FROM tearshare.booking b WHERE b.studio_id = NEW.studio_id
		AND b.bank_reference = NEW.bank_reference;
	RETURN NEW;
END $$;
CREATE TRIGGER booking_bank_line BEFORE INSERT ON booking
	FOR EACH ROW WHEN (NEW.bank_reference IS NOT NULL) EXECUTE FUNCTION booking_bank_line_check();

CREATE OR REPLACE FUNCTION settlement_follows_check() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
	before numeric;
	last_number integer;
	other boolean;
BEGIN
	PERFORM 1 FROM tearshare.workshop
		WHERE studio_id = NEW.studio_id AND workshop_id = NEW.workshop_id FOR UPDATE;
	SELECT coalesce(sum(charged_minor), 0), coalesce(max(number), 0), coalesce(bool_or(currency <> NEW.currency), false)
		INTO before, last_number, other FROM tearshare.settlement
		WHERE studio_id = NEW.studio_id AND workshop_id = NEW.workshop_id;
	IF other THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'settlement_one_currency',
			MESSAGE = 'a workshop has one currency';
	END IF;
	IF NEW.number <= last_number THEN
		RAISE EXCEPTION USING ERRCODE = 'unique_violation', CONSTRAINT = 'settlement_number_once',
			MESSAGE = 'settlement number is taken';
	END IF;
	IF NEW.number <> last_number + 1 THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'settlement_number_follows',
			MESSAGE = 'settlement numbers have no gaps';
	END IF;
	IF before + NEW.charged_minor <> NEW.invoice_minor + NEW.used_minor - NEW.kept_minor THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'settlement_charges_the_difference',
			MESSAGE = 'what is charged and was charged before is not what is shared';
	END IF;
	RETURN NEW;
END $$;

CREATE OR REPLACE FUNCTION settlement_adds_up_check() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
	charged bigint;
	shared numeric;
	found numeric;
BEGIN
	SELECT charged_minor, invoice_minor::numeric + used_minor - kept_minor INTO charged, shared
		FROM tearshare.settlement WHERE studio_id = NEW.studio_id AND settlement_id = NEW.settlement_id;
	SELECT coalesce(sum(share_minor), 0) INTO found FROM tearshare.share
		WHERE studio_id = NEW.studio_id AND settlement_id = NEW.settlement_id;
	IF found <> shared THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'settlement_shares_add_up',
			MESSAGE = format('shares add up to %s, the settlement shares %s', found, shared);
	END IF;
	SELECT coalesce(sum(e.amount_minor), 0) INTO found FROM tearshare.booking b
		JOIN tearshare.ledger_entry e USING (studio_id, booking_id)
		WHERE b.studio_id = NEW.studio_id AND b.settlement_id = NEW.settlement_id AND e.account_kind = 'member';
	IF found <> charged THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'settlement_adds_up',
			MESSAGE = format('charges add up to %s, the settlement charges %s', found, charged);
	END IF;
	RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER booking_adds_up AFTER INSERT ON booking
	DEFERRABLE INITIALLY DEFERRED FOR EACH ROW WHEN (NEW.settlement_id IS NOT NULL)
	EXECUTE FUNCTION settlement_adds_up_check();

-- Tax that is included is told, not added.
CREATE FUNCTION invoice_adds_up_check() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
	found integer;
	total numeric;
BEGIN
	SELECT count(*), coalesce(sum(amount_minor) FILTER (WHERE NOT (kind = 'tax' AND NEW.tax_included)), 0)
		INTO found, total FROM tearshare.invoice_line
		WHERE studio_id = NEW.studio_id AND invoice_id = NEW.invoice_id;
	IF found <> NEW.lines THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'invoice_has_its_lines',
			MESSAGE = format('invoice %s has %s lines and says %s', NEW.invoice_id, found, NEW.lines);
	END IF;
	IF total <> NEW.total_minor THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'invoice_adds_up',
			MESSAGE = format('the lines add up to %s, the invoice says %s', total, NEW.total_minor);
	END IF;
	RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER invoice_adds_up AFTER INSERT ON invoice
	DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION invoice_adds_up_check();

CREATE FUNCTION line_comes_with_invoice_check() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	IF EXISTS (SELECT 1 FROM (SELECT DISTINCT studio_id, invoice_id FROM added) a
			JOIN tearshare.invoice i USING (studio_id, invoice_id)
			WHERE i.lines < (SELECT count(*) FROM tearshare.invoice_line l
				WHERE l.studio_id = i.studio_id AND l.invoice_id = i.invoice_id)) THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'invoice_line_comes_with_invoice',
			MESSAGE = 'an invoice has its lines: no more can be added';
	END IF;
	RETURN NULL;
END $$;
CREATE TRIGGER invoice_line_comes_with_invoice AFTER INSERT ON invoice_line
	REFERENCING NEW TABLE AS added FOR EACH STATEMENT EXECUTE FUNCTION line_comes_with_invoice_check();

-- One account stands for a child, and nobody's account stands for its own payer.
CREATE FUNCTION member_payer_check() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	PERFORM 1 FROM tearshare.member WHERE studio_id = NEW.studio_id
		AND member_id IN (NEW.member_id, NEW.payer_id) ORDER BY member_id FOR UPDATE;
	IF EXISTS (SELECT 1 FROM tearshare.member WHERE studio_id = NEW.studio_id
			AND (member_id = NEW.payer_id AND payer_id IS NOT NULL
				OR payer_id = NEW.member_id AND NEW.payer_id IS NOT NULL)) THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'member_payer_pays_for_self',
			MESSAGE = 'whoever pays for another has an account of their own';
	END IF;
	IF TG_OP = 'UPDATE' AND EXISTS (SELECT 1 FROM tearshare.ledger_entry
			WHERE studio_id = NEW.studio_id AND member_id = NEW.member_id
			GROUP BY workshop_id, currency HAVING sum(amount_minor) <> 0) THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'member_payer_when_even',
			MESSAGE = 'something is still owed or credited on the account as it is';
	END IF;
	RETURN NEW;
END $$;
CREATE TRIGGER member_payer_changes BEFORE UPDATE OF payer_id ON member
	FOR EACH ROW WHEN (OLD.payer_id IS DISTINCT FROM NEW.payer_id) EXECUTE FUNCTION member_payer_check();
CREATE TRIGGER member_payer_begins BEFORE INSERT ON member
	FOR EACH ROW WHEN (NEW.payer_id IS NOT NULL) EXECUTE FUNCTION member_payer_check();

CREATE TRIGGER account_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON account
	FOR EACH STATEMENT EXECUTE FUNCTION only_added_to();
CREATE TRIGGER invoice_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON invoice
	FOR EACH STATEMENT EXECUTE FUNCTION only_added_to();
CREATE TRIGGER invoice_line_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON invoice_line
	FOR EACH STATEMENT EXECUTE FUNCTION only_added_to();
CREATE TRIGGER settlement_invoice_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON settlement_invoice
	FOR EACH STATEMENT EXECUTE FUNCTION only_added_to();
CREATE TRIGGER share_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON share
	FOR EACH STATEMENT EXECUTE FUNCTION only_added_to();
CREATE TRIGGER booking_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON booking
	FOR EACH STATEMENT EXECUTE FUNCTION only_added_to();
CREATE TRIGGER ledger_entry_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON ledger_entry
	FOR EACH STATEMENT EXECUTE FUNCTION only_added_to();

-- ---- rights ----

REVOKE ALL ON account, invoice, invoice_line, settlement_invoice, share, booking, ledger_entry
	FROM PUBLIC;
REVOKE ALL ON FUNCTION booking_balances_check(), entry_comes_with_booking_check(),
	booking_reverses_check(), booking_bank_line_check(), invoice_adds_up_check(), line_comes_with_invoice_check(),
	member_payer_check(), studio_opens_accounts(), member_opens_accounts() FROM PUBLIC;
GRANT SELECT, INSERT ON account, invoice, invoice_line, settlement_invoice, share, booking, ledger_entry
	TO tearshare_daemon;
