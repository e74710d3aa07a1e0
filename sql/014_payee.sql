-- SPDX-License-Identifier: MIT
-- To whom the members pay, within how many days, and how amounts are written on paper.

ALTER TABLE studio
	ADD payee_name text_line NOT NULL DEFAULT '',
	-- an IBAN, or words: "cash, to Ash"
	ADD payee_account text_line NOT NULL DEFAULT '',
	ADD pay_within_days integer NOT NULL DEFAULT 0,
	ADD locale text NOT NULL DEFAULT 'en',
	ADD CONSTRAINT studio_payee_fits_code CHECK (char_length(payee_name) <= 70),
	ADD CONSTRAINT studio_pay_within_in_range CHECK (pay_within_days BETWEEN 0 AND 365),
	ADD CONSTRAINT studio_locale_form CHECK (locale ~ '^[a-z]{2,3}(-[A-Z]{2})?$');
