-- SPDX-License-Identifier: MIT
-- Workshops, who takes part, and the sheets they ask for.

CREATE TABLE workshop (
	studio_id bigint NOT NULL,
	workshop_id bigint GENERATED ALWAYS AS IDENTITY,
	name name_line NOT NULL,
	closes_at timestamptz NOT NULL,
	starts_on date NOT NULL,
	days integer NOT NULL DEFAULT 1,
	flat_on date,
	state text NOT NULL DEFAULT 'open',
	stages integer NOT NULL DEFAULT 3,
	accepted_plan_id bigint,
	created_at timestamptz NOT NULL DEFAULT now(),
	version bigint NOT NULL DEFAULT 1,
	CONSTRAINT workshop_key PRIMARY KEY (studio_id, workshop_id),
	CONSTRAINT workshop_of_studio FOREIGN KEY (studio_id) REFERENCES studio,
	CONSTRAINT workshop_state_known
		CHECK (state IN ('open', 'closed', 'planned', 'torn', 'settled')),
	CONSTRAINT workshop_days_in_range CHECK (days BETWEEN 1 AND 366),
	CONSTRAINT workshop_stages_two_or_three CHECK (stages IN (2, 3)),
	CONSTRAINT workshop_dates_are_real CHECK (isfinite(closes_at) AND isfinite(starts_on)
		AND (flat_on IS NULL OR isfinite(flat_on))),
	CONSTRAINT workshop_planned_has_plan
		CHECK ((state IN ('planned', 'torn', 'settled')) = (accepted_plan_id IS NOT NULL))
);

-- open <-> closed -> planned -> torn -> settled; planned may open or close again until paper is torn.
CREATE FUNCTION workshop_state_check() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	IF TG_OP = 'INSERT' AND NEW.state = 'open' THEN
		RETURN NEW;
	END IF;
	IF TG_OP = 'UPDATE' AND (OLD.state, NEW.state) IN (('open', 'closed'), ('closed', 'open'),
			('closed', 'planned'), ('planned', 'open'), ('planned', 'closed'),
			('planned', 'torn'), ('torn', 'settled')) THEN
		RETURN NEW;
	END IF;
	RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'workshop_state_follows',
		MESSAGE = format('workshop cannot become %s', NEW.state);
END $$;
CREATE TRIGGER workshop_state_begins BEFORE INSERT ON workshop
	FOR EACH ROW EXECUTE FUNCTION workshop_state_check();
CREATE TRIGGER workshop_state_follows BEFORE UPDATE OF state ON workshop
	FOR EACH ROW WHEN (OLD.state <> NEW.state) EXECUTE FUNCTION workshop_state_check();

CREATE TABLE workshop_paper (
	studio_id bigint NOT NULL,
	workshop_id bigint NOT NULL,
	paper_id bigint NOT NULL,
	CONSTRAINT workshop_paper_key PRIMARY KEY (studio_id, workshop_id, paper_id),
	CONSTRAINT workshop_paper_of_workshop FOREIGN KEY (studio_id, workshop_id) REFERENCES workshop,
	CONSTRAINT workshop_paper_of_paper FOREIGN KEY (studio_id, paper_id) REFERENCES paper
);

CREATE TABLE enrolment (
	studio_id bigint NOT NULL,
	workshop_id bigint NOT NULL,
	member_id bigint NOT NULL,
	created_at timestamptz NOT NULL DEFAULT now(),
	CONSTRAINT enrolment_key PRIMARY KEY (studio_id, workshop_id, member_id),
	CONSTRAINT enrolment_of_workshop FOREIGN KEY (studio_id, workshop_id) REFERENCES workshop,
	CONSTRAINT enrolment_of_member FOREIGN KEY (studio_id, member_id) REFERENCES member
);
CREATE INDEX enrolment_by_member ON enrolment (studio_id, member_id, workshop_id);

CREATE TABLE request (
	studio_id bigint NOT NULL,
	request_id bigint GENERATED ALWAYS AS IDENTITY,
	workshop_id bigint NOT NULL,
	member_id bigint NOT NULL,
	paper_id bigint NOT NULL,
	count integer NOT NULL,
	across_u length_u NOT NULL,
	along_u length_u NOT NULL,
	margin_u length_or_zero_u NOT NULL,
	torn_across_u length_u NOT NULL,
	torn_along_u length_u NOT NULL,
	turn boolean NOT NULL,
	across_text text_line NOT NULL,
	along_text text_line NOT NULL,
	margin_text text_line NOT NULL,
	note text_line NOT NULL DEFAULT '',
	created_at timestamptz NOT NULL DEFAULT now(),
	withdrawn_at timestamptz,
	version bigint NOT NULL DEFAULT 1,
	CONSTRAINT request_key PRIMARY KEY (studio_id, request_id),
	CONSTRAINT request_member_takes_part
		FOREIGN KEY (studio_id, workshop_id, member_id) REFERENCES enrolment,
	CONSTRAINT request_paper_of_workshop
		FOREIGN KEY (studio_id, workshop_id, paper_id) REFERENCES workshop_paper,
	CONSTRAINT request_count_in_range CHECK (count BETWEEN 1 AND 10000),
	CONSTRAINT request_torn_holds_picture CHECK (torn_across_u >= across_u + 2 * margin_u
		AND torn_along_u >= along_u + 2 * margin_u)
);
CREATE INDEX request_by_workshop ON request (studio_id, workshop_id, request_id);

-- The row of the workshop is locked in the same mode in which asking locks it, so that no
-- request slips in beside a closing.
CREATE FUNCTION request_while_open_check() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
	now_state text;
BEGIN
	SELECT state INTO now_state FROM tearshare.workshop
		WHERE studio_id = NEW.studio_id AND workshop_id = NEW.workshop_id FOR SHARE;
	IF now_state <> 'open' THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'request_while_open',
			MESSAGE = format('workshop is %s', now_state);
	END IF;
	RETURN NEW;
END $$;
CREATE TRIGGER request_while_open BEFORE INSERT OR UPDATE OF
	workshop_id, member_id, paper_id, count, across_u, along_u, margin_u, torn_across_u,
	torn_along_u, turn, withdrawn_at ON request
	FOR EACH ROW EXECUTE FUNCTION request_while_open_check();

CREATE TABLE invitation (
	studio_id bigint NOT NULL,
	invitation_id bigint GENERATED ALWAYS AS IDENTITY,
	workshop_id bigint NOT NULL,
	hash secret_hash NOT NULL,      -- of the token in the link
	code_hash secret_hash NOT NULL, -- of the code to be typed
	created_at timestamptz NOT NULL DEFAULT now(),
	expires_at timestamptz NOT NULL,
	revoked_at timestamptz,
	uses integer NOT NULL DEFAULT 0,
	uses_max integer NOT NULL,
	CONSTRAINT invitation_key PRIMARY KEY (studio_id, invitation_id),
	CONSTRAINT invitation_of_workshop FOREIGN KEY (studio_id, workshop_id) REFERENCES workshop,
	CONSTRAINT invitation_hash_once UNIQUE (hash),
	CONSTRAINT invitation_code_hash_once UNIQUE (code_hash),
	CONSTRAINT invitation_uses_within_max CHECK (uses BETWEEN 0 AND uses_max),
	CONSTRAINT invitation_uses_max_in_range CHECK (uses_max BETWEEN 1 AND 10000)
);
CREATE INDEX invitation_by_workshop ON invitation (studio_id, workshop_id, invitation_id);
