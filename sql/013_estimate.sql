-- SPDX-License-Identifier: MIT
-- What requests may cost before the closing time: jobs that belong to a workshop and to no
-- plan, one a paper, begun anew when asked for again; and prices of the same paper as pads or
-- single sheets, for comparison.

ALTER TABLE job
	ALTER COLUMN plan_id DROP NOT NULL,
	ADD COLUMN workshop_id bigint,
	ADD CONSTRAINT job_of_workshop FOREIGN KEY (studio_id, workshop_id) REFERENCES workshop,
	ADD CONSTRAINT job_of_plan_or_workshop CHECK ((plan_id IS NULL) <> (workshop_id IS NULL));
CREATE UNIQUE INDEX job_one_estimate ON job (studio_id, workshop_id, paper_id) WHERE workshop_id IS NOT NULL;

-- [{"name":"pad of 12","width_u":..,"length_u":..,"sheets":12,"price_minor":2592}]
ALTER TABLE paper
	ADD COLUMN compare jsonb NOT NULL DEFAULT '[]',
	ADD CONSTRAINT paper_compare_is_list CHECK (jsonb_typeof(compare) = 'array' AND jsonb_array_length(compare) <= 20);
