-- SPDX-License-Identifier: MIT
-- Papers, and what there is of them: fresh rolls, roll-ends, offcuts, flat sheets.

CREATE TABLE paper (
	studio_id bigint NOT NULL,
	paper_id bigint GENERATED ALWAYS AS IDENTITY,
	name name_line NOT NULL,
	weight_gsm integer NOT NULL,
	finish text NOT NULL,
	fibre text_line NOT NULL DEFAULT '',
	colour text_line NOT NULL DEFAULT '',
	active boolean NOT NULL DEFAULT true,
	version bigint NOT NULL DEFAULT 1,
	CONSTRAINT paper_key PRIMARY KEY (studio_id, paper_id),
	CONSTRAINT paper_of_studio FOREIGN KEY (studio_id) REFERENCES studio,
	CONSTRAINT paper_name_once UNIQUE (studio_id, name),
	CONSTRAINT paper_weight_in_range CHECK (weight_gsm BETWEEN 1 AND 5000),
	CONSTRAINT paper_finish_known CHECK (finish IN ('hot press', 'cold press', 'rough'))
);

-- available: NULL means as many as can be bought.
CREATE TABLE stock (
	studio_id bigint NOT NULL,
	stock_id bigint GENERATED ALWAYS AS IDENTITY,
	paper_id bigint NOT NULL,
	kind text NOT NULL,
	name name_line NOT NULL,
	width_u length_u NOT NULL,
	length_u length_u NOT NULL,
	price_minor bigint NOT NULL,
	available integer,
	spoiled jsonb NOT NULL DEFAULT '[]',
	lot text_line NOT NULL DEFAULT '',
	place text_line NOT NULL DEFAULT '',
	from_plan_id bigint,
	active boolean NOT NULL DEFAULT true,
	version bigint NOT NULL DEFAULT 1,
	CONSTRAINT stock_key PRIMARY KEY (studio_id, stock_id),
	CONSTRAINT stock_of_paper FOREIGN KEY (studio_id, paper_id) REFERENCES paper,
	CONSTRAINT stock_kind_known CHECK (kind IN ('fresh', 'roll-end', 'offcut', 'flat')),
	CONSTRAINT stock_price_in_range CHECK (price_minor BETWEEN 0 AND 1000000000000),
	CONSTRAINT stock_available_in_range CHECK (available BETWEEN 0 AND 1000000),
	CONSTRAINT stock_remnant_is_counted
		CHECK (available IS NOT NULL OR kind IN ('fresh', 'flat')),
	CONSTRAINT stock_spoiled_is_list CHECK (jsonb_typeof(spoiled) = 'array')
);
CREATE INDEX stock_by_paper ON stock (studio_id, paper_id, stock_id);
