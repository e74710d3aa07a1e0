-- SPDX-License-Identifier: MIT
-- Plans, and the jobs that make them: one job a paper.

CREATE TABLE plan (
	studio_id bigint NOT NULL,
	plan_id bigint GENERATED ALWAYS AS IDENTITY,
	workshop_id bigint NOT NULL,
	number integer NOT NULL,
	state text NOT NULL DEFAULT 'working',
	check_code text NOT NULL DEFAULT '',
	created_at timestamptz NOT NULL DEFAULT now(),
	created_by bigint NOT NULL,
	accepted_at timestamptz,
	accepted_by bigint,
	version bigint NOT NULL DEFAULT 1,
	CONSTRAINT plan_key PRIMARY KEY (studio_id, plan_id),
	CONSTRAINT plan_with_workshop UNIQUE (studio_id, plan_id, workshop_id),
	CONSTRAINT plan_of_workshop FOREIGN KEY (studio_id, workshop_id) REFERENCES workshop,
	CONSTRAINT plan_by_member FOREIGN KEY (studio_id, created_by) REFERENCES member (studio_id, member_id),
	CONSTRAINT plan_accepted_by_member
		FOREIGN KEY (studio_id, accepted_by) REFERENCES member (studio_id, member_id),
	CONSTRAINT plan_number_once UNIQUE (studio_id, workshop_id, number),
	CONSTRAINT plan_number_positive CHECK (number > 0),
	CONSTRAINT plan_state_known CHECK (state IN
		('working', 'ready', 'failed', 'cancelled', 'accepted', 'superseded')),
	CONSTRAINT plan_accepted_has_time
		CHECK (state NOT IN ('accepted', 'superseded') OR accepted_at IS NOT NULL)
);
CREATE UNIQUE INDEX plan_one_working ON plan (studio_id, workshop_id) WHERE state = 'working';
CREATE UNIQUE INDEX plan_one_accepted ON plan (studio_id, workshop_id) WHERE state = 'accepted';

CREATE FUNCTION plan_state_check() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	IF (OLD.state, NEW.state) IN (('working', 'ready'), ('working', 'failed'), ('working', 'cancelled'),
			('ready', 'accepted'), ('accepted', 'superseded')) THEN
		RETURN NEW;
	END IF;
	RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'plan_state_follows',
		MESSAGE = format('a plan that is %s cannot become %s', OLD.state, NEW.state);
END $$;
CREATE TRIGGER plan_state_follows BEFORE UPDATE OF state ON plan
	FOR EACH ROW WHEN (OLD.state <> NEW.state) EXECUTE FUNCTION plan_state_check();

ALTER TABLE workshop ADD CONSTRAINT workshop_accepted_plan
	FOREIGN KEY (studio_id, accepted_plan_id, workshop_id) REFERENCES plan (studio_id, plan_id, workshop_id);
ALTER TABLE stock ADD CONSTRAINT stock_from_plan
	FOREIGN KEY (studio_id, from_plan_id) REFERENCES plan;

-- What a plan took from limited stock, so that it can be given back.
CREATE TABLE stock_use (
	studio_id bigint NOT NULL,
	plan_id bigint NOT NULL,
	stock_id bigint NOT NULL,
	count integer NOT NULL,
	CONSTRAINT stock_use_key PRIMARY KEY (studio_id, plan_id, stock_id),
	CONSTRAINT stock_use_of_plan FOREIGN KEY (studio_id, plan_id) REFERENCES plan,
	CONSTRAINT stock_use_of_stock FOREIGN KEY (studio_id, stock_id) REFERENCES stock,
	CONSTRAINT stock_use_count_positive CHECK (count > 0)
);

-- attempt: counts every taking, so that a late writer is told apart; faults: attempts that
-- ended badly.  Progress is -1 where it is not known yet.
CREATE TABLE job (
	studio_id bigint NOT NULL,
	job_id bigint GENERATED ALWAYS AS IDENTITY,
	plan_id bigint NOT NULL,
	paper_id bigint NOT NULL,
	state text NOT NULL DEFAULT 'queued',
	attempt integer NOT NULL DEFAULT 0,
	faults integer NOT NULL DEFAULT 0,
	cancel boolean NOT NULL DEFAULT false,
	worker text,
	lease_until timestamptz,
	not_before timestamptz NOT NULL DEFAULT now(),
	problem json NOT NULL,
	behind json NOT NULL,
	result json,
	check_code text NOT NULL DEFAULT '',
	reason text,
	best_rolls bigint NOT NULL DEFAULT -1,
	best_price_minor bigint NOT NULL DEFAULT -1,
	best_length_u bigint NOT NULL DEFAULT -1,
	bound_rolls bigint NOT NULL DEFAULT -1,
	bound_price_minor bigint NOT NULL DEFAULT -1,
	bound_length_u bigint NOT NULL DEFAULT -1,
	steps bigint NOT NULL DEFAULT 0,
	created_at timestamptz NOT NULL DEFAULT now(),
	taken_at timestamptz,
	ended_at timestamptz,
	CONSTRAINT job_key PRIMARY KEY (studio_id, job_id),
	CONSTRAINT job_of_plan FOREIGN KEY (studio_id, plan_id) REFERENCES plan,
	CONSTRAINT job_of_paper FOREIGN KEY (studio_id, paper_id) REFERENCES paper,
	CONSTRAINT job_one_per_paper UNIQUE (studio_id, plan_id, paper_id),
	CONSTRAINT job_state_known CHECK (state IN ('queued', 'running', 'done', 'failed', 'cancelled')),
	CONSTRAINT job_running_has_lease CHECK (state <> 'running' OR (worker IS NOT NULL AND lease_until IS NOT NULL)),
	CONSTRAINT job_done_has_result CHECK (state <> 'done' OR result IS NOT NULL),
	CONSTRAINT job_failed_has_reason CHECK (state <> 'failed' OR reason IS NOT NULL),
	CONSTRAINT job_faults_in_range CHECK (faults BETWEEN 0 AND attempt)
);
CREATE INDEX job_waiting ON job (job_id) WHERE state IN ('queued', 'running');
CREATE INDEX job_taken ON job (studio_id, taken_at);

-- The last job of a plan settles the plan.  The plan's row is locked first: two last jobs that
-- end at once would each see the other running.
CREATE FUNCTION job_settles_plan() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
	now_state text;
BEGIN
	SELECT state INTO now_state FROM tearshare.plan
		WHERE studio_id = NEW.studio_id AND plan_id = NEW.plan_id FOR UPDATE;
	IF now_state <> 'working' THEN
		RETURN NULL;
	END IF;
	IF NEW.state = 'failed' THEN
		UPDATE tearshare.plan SET state = 'failed', version = version + 1
			WHERE studio_id = NEW.studio_id AND plan_id = NEW.plan_id;
		UPDATE tearshare.job SET cancel = true
			WHERE studio_id = NEW.studio_id AND plan_id = NEW.plan_id AND state IN ('queued', 'running');
	ELSIF NOT EXISTS (SELECT 1 FROM tearshare.job WHERE studio_id = NEW.studio_id
			AND plan_id = NEW.plan_id AND state <> 'done') THEN
		UPDATE tearshare.plan SET state = 'ready', version = version + 1,
			-- Five letters that cannot be mistaken for each other, over the codes of all papers.
			check_code = (SELECT translate(left(encode(sha256(convert_to(
					string_agg(check_code, '-' ORDER BY paper_id), 'UTF8')), 'hex'), 5),
					'0123456789abcdef', 'ACDEFHKLMNPRTUWX')
				FROM tearshare.job WHERE studio_id = NEW.studio_id AND plan_id = NEW.plan_id)
			WHERE studio_id = NEW.studio_id AND plan_id = NEW.plan_id;
	END IF;
	RETURN NULL;
END $$;
CREATE TRIGGER job_settles_plan AFTER UPDATE OF state ON job
	FOR EACH ROW WHEN (NEW.state IN ('done', 'failed')) EXECUTE FUNCTION job_settles_plan();

-- An accepted plan is kept for ever, as it was when it was accepted.
CREATE TABLE accepted_plan (
	studio_id bigint NOT NULL,
	plan_id bigint NOT NULL,
	paper_id bigint NOT NULL,
	problem json NOT NULL,
	behind json NOT NULL,
	result json NOT NULL,
	check_code text NOT NULL,
	accepted_at timestamptz NOT NULL DEFAULT now(),
	CONSTRAINT accepted_plan_key PRIMARY KEY (studio_id, plan_id, paper_id),
	CONSTRAINT accepted_plan_of_plan FOREIGN KEY (studio_id, plan_id) REFERENCES plan,
	CONSTRAINT accepted_plan_of_paper FOREIGN KEY (studio_id, paper_id) REFERENCES paper
);

-- For tables to which rows are only added.  A row trigger is silent on an empty table and on
-- TRUNCATE, so a statement trigger of its own refuses that.
CREATE FUNCTION only_added_to() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	RAISE EXCEPTION USING ERRCODE = 'restrict_violation', CONSTRAINT = TG_TABLE_NAME || '_only_added_to',
		MESSAGE = format('rows of %s are only added: %s is refused', TG_TABLE_NAME, lower(TG_OP));
END $$;
CREATE TRIGGER accepted_plan_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON accepted_plan
	FOR EACH STATEMENT EXECUTE FUNCTION only_added_to();
