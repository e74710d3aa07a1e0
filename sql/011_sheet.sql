-- SPDX-License-Identifier: MIT
-- How a studio wants its tear sheets, and the codes that stand on what goes back on the shelf.

ALTER TABLE studio
	ADD language text NOT NULL DEFAULT 'en',
	ADD both_measures boolean NOT NULL DEFAULT false,
	ADD pull text NOT NULL DEFAULT 'near',
	ADD rules text_line NOT NULL DEFAULT '',
	ADD sheet_page text NOT NULL DEFAULT 'a4',
	-- empty: the grid that goes with sheet_page; else as label_grid_read() takes it
	ADD label_grid text_line NOT NULL DEFAULT '',
	-- whose names are printed in full: nobody's, those of whom no guardian acts for, all
	ADD full_names text NOT NULL DEFAULT 'none',
	ADD CONSTRAINT studio_language_form CHECK (language ~ '^[a-z]{2,3}$'),
	ADD CONSTRAINT studio_pull_known CHECK (pull IN ('near', 'far')),
	ADD CONSTRAINT studio_sheet_page_known CHECK (sheet_page IN ('a4', 'letter')),
	ADD CONSTRAINT studio_full_names_known CHECK (full_names IN ('none', 'adults', 'all'));

-- '': nothing is written on it, or it was never on a sheet.
ALTER TABLE stock ADD shelf_code text_line NOT NULL DEFAULT '';
CREATE INDEX stock_by_shelf_code ON stock (studio_id, shelf_code) WHERE shelf_code <> '';
