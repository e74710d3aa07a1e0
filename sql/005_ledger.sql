-- SPDX-License-Identifier: MIT
-- Money: settlements, charges, payments.  Rows are only added.
--
-- A settlement is one closing of a workshop's books: the invoice as it stands, and what is
-- charged with it (the invoice less what was charged before).  Its charges come in the same
-- transaction and add up to charged_minor exactly; the database looks at commit, from both
-- sides, since from the settlement's side alone a charge added later would slip in.

CREATE TABLE settlement (
	studio_id bigint NOT NULL,
	settlement_id bigint GENERATED ALWAYS AS IDENTITY,
	workshop_id bigint NOT NULL,
	plan_id bigint NOT NULL,
	number integer NOT NULL,
	currency currency_code NOT NULL,
	invoice_minor bigint NOT NULL,
	charged_minor bigint NOT NULL,
	parts json NOT NULL,
	created_at timestamptz NOT NULL DEFAULT now(),
	created_by bigint NOT NULL,
	CONSTRAINT settlement_key PRIMARY KEY (studio_id, settlement_id),
	CONSTRAINT settlement_with_workshop UNIQUE (studio_id, settlement_id, workshop_id),
	CONSTRAINT settlement_of_workshop FOREIGN KEY (studio_id, workshop_id) REFERENCES workshop,
	CONSTRAINT settlement_of_plan
		FOREIGN KEY (studio_id, plan_id, workshop_id) REFERENCES plan (studio_id, plan_id, workshop_id),
	CONSTRAINT settlement_by_member FOREIGN KEY (studio_id, created_by) REFERENCES member (studio_id, member_id),
	CONSTRAINT settlement_number_once UNIQUE (studio_id, workshop_id, number),
	CONSTRAINT settlement_number_positive CHECK (number > 0),
	CONSTRAINT settlement_invoice_in_range CHECK (invoice_minor BETWEEN 0 AND 1000000000000000),
	CONSTRAINT settlement_charged_in_range
		CHECK (charged_minor BETWEEN -1000000000000000 AND 1000000000000000),
	CONSTRAINT settlement_parts_is_list CHECK (json_typeof(parts) = 'array')
);

-- charge: what the member owes more (less when negative); payment: what came in.
-- reversal: the negated amount of the entry it names.  Charges and their reversals name
-- their settlement, payments and theirs none.
CREATE TABLE ledger_entry (
	studio_id bigint NOT NULL,
	entry_id bigint GENERATED ALWAYS AS IDENTITY,
	workshop_id bigint NOT NULL,
	member_id bigint NOT NULL,
	kind text NOT NULL,
	amount_minor bigint NOT NULL,
	settlement_id bigint,
	reverses_id bigint,
	method text_line NOT NULL DEFAULT '',
	reference text_line NOT NULL DEFAULT '',
	reason text_line NOT NULL DEFAULT '',
	paid_on date,
	created_at timestamptz NOT NULL DEFAULT now(),
	created_by bigint NOT NULL,
	key_id bigint,
	CONSTRAINT ledger_entry_key PRIMARY KEY (studio_id, entry_id),
	CONSTRAINT entry_same_person UNIQUE (studio_id, entry_id, workshop_id, member_id),
	CONSTRAINT entry_member_takes_part
		FOREIGN KEY (studio_id, workshop_id, member_id) REFERENCES enrolment,
	CONSTRAINT entry_of_settlement FOREIGN KEY (studio_id, settlement_id, workshop_id)
		REFERENCES settlement (studio_id, settlement_id, workshop_id),
	CONSTRAINT entry_reverses_same_person FOREIGN KEY (studio_id, reverses_id, workshop_id, member_id)
		REFERENCES ledger_entry (studio_id, entry_id, workshop_id, member_id),
	CONSTRAINT entry_by_member FOREIGN KEY (studio_id, created_by) REFERENCES member (studio_id, member_id),
	CONSTRAINT entry_by_key FOREIGN KEY (studio_id, key_id) REFERENCES key,
	CONSTRAINT entry_reversed_once UNIQUE (studio_id, reverses_id),
	CONSTRAINT entry_kind_known CHECK (kind IN ('charge', 'payment', 'reversal')),
	CONSTRAINT entry_amount_not_zero CHECK (amount_minor <> 0),
	CONSTRAINT entry_amount_in_range CHECK (amount_minor BETWEEN -1000000000000000 AND 1000000000000000),
	CONSTRAINT entry_payment_is_positive CHECK (kind <> 'payment' OR amount_minor > 0),
	CONSTRAINT entry_charge_has_settlement CHECK (kind <> 'charge' OR settlement_id IS NOT NULL),
	CONSTRAINT entry_payment_has_no_settlement CHECK (kind <> 'payment' OR settlement_id IS NULL),
	CONSTRAINT entry_reversal_names_original CHECK ((kind = 'reversal') = (reverses_id IS NOT NULL))
);
CREATE INDEX ledger_entry_by_workshop ON ledger_entry (studio_id, workshop_id, entry_id);
CREATE INDEX ledger_entry_by_member ON ledger_entry (studio_id, member_id, entry_id);
CREATE INDEX ledger_entry_by_settlement ON ledger_entry (studio_id, settlement_id);

CREATE FUNCTION settlement_follows_check() RETURNS trigger LANGUAGE plpgsql AS $$
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
	IF before + NEW.charged_minor <> NEW.invoice_minor THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'settlement_charges_the_difference',
			MESSAGE = 'what is charged and was charged before is not the invoice';
	END IF;
	RETURN NEW;
END $$;
CREATE TRIGGER settlement_follows BEFORE INSERT ON settlement
	FOR EACH ROW EXECUTE FUNCTION settlement_follows_check();

CREATE FUNCTION settlement_adds_up_check() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
	charged bigint;
	found numeric;
BEGIN
	SELECT charged_minor INTO charged FROM tearshare.settlement
		WHERE studio_id = NEW.studio_id AND settlement_id = NEW.settlement_id;
	SELECT coalesce(sum(amount_minor), 0) INTO found FROM tearshare.ledger_entry
		WHERE studio_id = NEW.studio_id AND settlement_id = NEW.settlement_id;
	IF found <> charged THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'settlement_adds_up',
			MESSAGE = format('charges add up to %s, the settlement charges %s', found, charged);
	END IF;
	RETURN NULL;
END $$;
CREATE CONSTRAINT TRIGGER settlement_adds_up AFTER INSERT ON settlement
	DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION settlement_adds_up_check();
CREATE CONSTRAINT TRIGGER entry_adds_up AFTER INSERT ON ledger_entry
	DEFERRABLE INITIALLY DEFERRED FOR EACH ROW WHEN (NEW.settlement_id IS NOT NULL)
	EXECUTE FUNCTION settlement_adds_up_check();

CREATE FUNCTION reversal_matches_check() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	IF NOT EXISTS (SELECT 1 FROM tearshare.ledger_entry o WHERE o.studio_id = NEW.studio_id
			AND o.entry_id = NEW.reverses_id AND o.kind <> 'reversal'
			AND o.amount_minor = -NEW.amount_minor
			AND o.settlement_id IS NOT DISTINCT FROM NEW.settlement_id
			AND o.workshop_id = NEW.workshop_id AND o.member_id = NEW.member_id) THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'entry_reversal_matches_original',
			MESSAGE = 'a reversal is the negated entry it names';
	END IF;
	RETURN NEW;
END $$;
CREATE TRIGGER entry_reversal_matches_original BEFORE INSERT ON ledger_entry
	FOR EACH ROW WHEN (NEW.kind = 'reversal') EXECUTE FUNCTION reversal_matches_check();

CREATE TRIGGER settlement_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON settlement
	FOR EACH STATEMENT EXECUTE FUNCTION only_added_to();
CREATE TRIGGER ledger_entry_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON ledger_entry
	FOR EACH STATEMENT EXECUTE FUNCTION only_added_to();
