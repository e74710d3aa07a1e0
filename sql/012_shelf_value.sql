-- SPDX-License-Identifier: MIT
-- What lies on the shelf has a value in the books: roll-ends, offcuts and counted flat sheets
-- at the price at which each was kept.
--
-- Every change of that value is a booking, made by the database itself in the same statement,
-- so that no way of changing a row can forget it: against the costs of the workshop for whose
-- plan it was taken or left, else against what the studio itself brings in.

ALTER TABLE stock
	ADD COLUMN value_minor bigint NOT NULL GENERATED ALWAYS AS (CASE
		WHEN active AND kind <> 'fresh' AND available IS NOT NULL THEN available::bigint * price_minor
		ELSE 0 END) STORED,
	ADD COLUMN moved_by bigint,  -- who changed it last
	ADD COLUMN moved_for bigint, -- the plan for which it was taken, given back or left
	ADD CONSTRAINT stock_moved_by_member FOREIGN KEY (studio_id, moved_by) REFERENCES member (studio_id, member_id),
	ADD CONSTRAINT stock_moved_for_plan FOREIGN KEY (studio_id, moved_for) REFERENCES plan (studio_id, plan_id);

CREATE FUNCTION shelf_book(of_studio bigint, of_stock bigint, by_member bigint, for_plan bigint, delta bigint, why text)
	RETURNS void LANGUAGE plpgsql AS $$
DECLARE
	of_workshop bigint;
	made bigint;
	unit text;
BEGIN
	SELECT workshop_id INTO of_workshop FROM tearshare.plan WHERE studio_id = of_studio AND plan_id = for_plan;
	SELECT currency INTO unit FROM tearshare.studio WHERE studio_id = of_studio;
	INSERT INTO tearshare.booking (studio_id, kind, workshop_id, plan_id, stock_id, reason, legs, created_by)
		VALUES (of_studio, CASE WHEN delta > 0 THEN 'stock-in' ELSE 'stock-out' END, of_workshop, for_plan,
			of_stock, why, 2, by_member)
		RETURNING booking_id INTO made;
	INSERT INTO tearshare.ledger_entry (studio_id, booking_id, account_id, account_kind, workshop_id, currency,
			amount_minor)
		SELECT of_studio, made, account_id, kind, of_workshop, unit,
			CASE kind WHEN 'shelf' THEN delta ELSE -delta END
		FROM tearshare.account WHERE studio_id = of_studio
			AND kind IN ('shelf', CASE WHEN of_workshop IS NULL THEN 'capital' ELSE 'cost' END);
END $$;

-- What is there begins as brought in by the studio; what was taken for plans that are not
-- settled yet is a cost of their workshops.
DO $$
DECLARE
	s record;
	made bigint;
BEGIN
	FOR s IN SELECT t.studio_id, t.stock_id, t.value_minor, min(m.member_id) AS owner
			FROM tearshare.stock t JOIN tearshare.member m ON m.studio_id = t.studio_id AND m.roles & 8 <> 0
			WHERE t.value_minor <> 0 GROUP BY t.studio_id, t.stock_id, t.value_minor ORDER BY t.stock_id LOOP
		PERFORM tearshare.shelf_book(s.studio_id, s.stock_id, s.owner, NULL, s.value_minor,
			'on the shelf when the books were opened');
	END LOOP;
	FOR s IN SELECT u.studio_id, u.stock_id, u.plan_id, w.workshop_id, u.count * t.price_minor AS value_minor,
				d.currency, p.accepted_by
			FROM tearshare.stock_use u JOIN tearshare.stock t USING (studio_id, stock_id)
				JOIN tearshare.plan p USING (studio_id, plan_id)
				JOIN tearshare.workshop w ON w.studio_id = u.studio_id AND w.accepted_plan_id = u.plan_id
				JOIN tearshare.studio d ON d.studio_id = u.studio_id
			WHERE t.kind <> 'fresh' AND t.price_minor > 0 AND NOT EXISTS (SELECT 1 FROM tearshare.settlement x
				WHERE x.studio_id = u.studio_id AND x.workshop_id = w.workshop_id)
			ORDER BY u.plan_id, u.stock_id LOOP
		INSERT INTO tearshare.booking (studio_id, kind, workshop_id, plan_id, stock_id, reason, legs, created_by)
			VALUES (s.studio_id, 'stock-out', s.workshop_id, s.plan_id, s.stock_id,
				'taken before the books were opened', 2, s.accepted_by)
			RETURNING booking_id INTO made;
		INSERT INTO tearshare.ledger_entry (studio_id, booking_id, account_id, account_kind, workshop_id,
				currency, amount_minor)
			SELECT s.studio_id, made, account_id, kind, s.workshop_id, s.currency,
				CASE kind WHEN 'cost' THEN s.value_minor ELSE -s.value_minor END
			FROM tearshare.account WHERE studio_id = s.studio_id AND kind IN ('cost', 'capital');
	END LOOP;
	-- Looked at now: what is still to be looked at stands in the way of changing tables.
	SET CONSTRAINTS ALL IMMEDIATE;
END $$;

CREATE FUNCTION stock_moves_value() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
	delta bigint := NEW.value_minor;
BEGIN
	IF TG_OP = 'UPDATE' THEN
		delta := NEW.value_minor - OLD.value_minor;
	END IF;
	IF delta = 0 THEN
		RETURN NULL;
	END IF;
	IF NEW.moved_by IS NULL THEN
		RAISE EXCEPTION USING ERRCODE = 'not_null_violation', CONSTRAINT = 'stock_moved_by_somebody',
			MESSAGE = 'the value on the shelf changes and nobody is named who changes it';
	END IF;
	PERFORM tearshare.shelf_book(NEW.studio_id, NEW.stock_id, NEW.moved_by, NEW.moved_for, delta,
		CASE WHEN NEW.moved_for IS NULL AND TG_OP = 'INSERT' THEN 'put on the shelf'
			WHEN NEW.moved_for IS NULL THEN 'changed on the shelf'
			WHEN TG_OP = 'INSERT' THEN 'left by a plan'
			WHEN delta < 0 THEN 'taken for a plan'
			ELSE 'given back by a plan' END);
	RETURN NULL;
END $$;
CREATE TRIGGER stock_moves_value AFTER INSERT OR UPDATE ON stock
	FOR EACH ROW EXECUTE FUNCTION stock_moves_value();

-- A plan that is accepted and not torn may give back what it took, at the same value.
CREATE FUNCTION stock_price_while_taken_check() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	IF EXISTS (SELECT 1 FROM tearshare.stock_use u JOIN tearshare.workshop w
			ON w.studio_id = u.studio_id AND w.accepted_plan_id = u.plan_id AND w.state = 'planned'
			WHERE u.studio_id = NEW.studio_id AND u.stock_id = NEW.stock_id) THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'stock_price_while_taken',
			MESSAGE = 'a plan that is not torn yet has taken of it';
	END IF;
	RETURN NEW;
END $$;
CREATE TRIGGER stock_price_while_taken BEFORE UPDATE OF price_minor, kind, active ON stock
	FOR EACH ROW WHEN (OLD.available IS NOT NULL AND OLD.kind <> 'fresh' AND (OLD.price_minor, OLD.kind, OLD.active)
		IS DISTINCT FROM (NEW.price_minor, NEW.kind, NEW.active))
	EXECUTE FUNCTION stock_price_while_taken_check();

-- A balance is of one currency: what is booked, and what lies on the shelf, keeps its own.
CREATE FUNCTION studio_currency_check() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	IF EXISTS (SELECT 1 FROM tearshare.ledger_entry WHERE studio_id = NEW.studio_id) THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'studio_currency_of_books',
			MESSAGE = format('the books of the studio are kept in %s', OLD.currency);
	END IF;
	RETURN NEW;
END $$;
CREATE TRIGGER studio_currency_of_books BEFORE UPDATE OF currency ON studio
	FOR EACH ROW WHEN (OLD.currency <> NEW.currency) EXECUTE FUNCTION studio_currency_check();

-- ---- do the books agree with what lies on the shelf ----

CREATE VIEW trouble_on_shelf (studio_id, workshop_id, member_id, what) AS
SELECT studio_id, NULL::bigint, NULL::bigint,
	format('stock %s is worth %s %s, the ledger has %s', stock_id, sum(worth), currency, sum(booked))
FROM (SELECT s.studio_id, s.stock_id, d.currency::text AS currency, s.value_minor AS worth, 0 AS booked
	FROM stock s JOIN studio d USING (studio_id)
	UNION ALL
	SELECT b.studio_id, b.stock_id, e.currency::text, 0, e.amount_minor
	FROM booking b JOIN ledger_entry e ON e.studio_id = b.studio_id AND e.booking_id = b.booking_id
	WHERE e.account_kind = 'shelf') t
GROUP BY studio_id, stock_id, currency HAVING sum(worth) <> sum(booked)

-- Once a workshop is settled nothing of its costs is left but what is not invoiced yet, or
-- not charged yet.
UNION ALL
SELECT w.studio_id, w.workshop_id, NULL,
	format('of the costs of the workshop %s is left, it should be %s', c.held, c.told - s.invoice_minor)
FROM workshop w JOIN settlement s ON s.studio_id = w.studio_id AND s.workshop_id = w.workshop_id
	AND NOT EXISTS (SELECT 1 FROM settlement l WHERE l.studio_id = s.studio_id
		AND l.workshop_id = s.workshop_id AND l.number > s.number)
	CROSS JOIN LATERAL (SELECT
		(SELECT coalesce(sum(e.amount_minor), 0) FROM ledger_entry e WHERE e.studio_id = w.studio_id
			AND e.workshop_id = w.workshop_id AND e.account_kind = 'cost') AS held,
		(SELECT coalesce(sum(i.total_minor), 0) FROM invoice i WHERE i.studio_id = w.studio_id
			AND i.workshop_id = w.workshop_id AND NOT EXISTS (SELECT 1 FROM invoice r
				WHERE r.studio_id = i.studio_id AND r.replaces_id = i.invoice_id)) AS told) c
WHERE w.state = 'settled' AND c.held <> c.told - s.invoice_minor;

REVOKE ALL ON trouble_on_shelf FROM PUBLIC;
GRANT SELECT ON trouble_on_shelf TO tearshare_daemon;
REVOKE ALL ON FUNCTION shelf_book(bigint, bigint, bigint, bigint, bigint, text), stock_moves_value(),
	stock_price_while_taken_check(), studio_currency_check() FROM PUBLIC;
-- The trigger runs as who changes the row.
GRANT EXECUTE ON FUNCTION shelf_book(bigint, bigint, bigint, bigint, bigint, text) TO tearshare_daemon;
