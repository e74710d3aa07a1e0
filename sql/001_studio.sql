-- SPDX-License-Identifier: MIT
-- Studios and the people in them.
--
-- Every row belongs to one studio: each key begins with studio_id and each foreign key is
-- composite, so that no row can point into another studio.  Ids are unique over all studios.
-- Instants are timestamptz and come from the database's clock; days are dates in the
-- studio's time zone.  Lengths are whole numbers of 1/320 mm (_u), areas of their squares
-- (_uu), money of the currency's minor unit (_minor).  Rules are named: the program turns
-- a name into a sentence (daemon/store/sqlstate.c).

CREATE DOMAIN length_u AS bigint
	CONSTRAINT length_in_range CHECK (VALUE BETWEEN 1 AND 320000000);
CREATE DOMAIN length_or_zero_u AS bigint
	CONSTRAINT length_or_zero_in_range CHECK (VALUE BETWEEN 0 AND 320000000);
CREATE DOMAIN currency_code AS text
	CONSTRAINT currency_is_iso4217 CHECK (VALUE ~ '^[A-Z]{3}$');
CREATE DOMAIN secret_hash AS bytea
	CONSTRAINT secret_hash_is_sha256 CHECK (octet_length(VALUE) = 32);
-- One line of text: no control characters.
CREATE DOMAIN text_line AS text
	CONSTRAINT line_is_printable CHECK (VALUE !~ '[[:cntrl:]]' AND char_length(VALUE) <= 200);
CREATE DOMAIN name_line AS text_line
	CONSTRAINT name_is_there CHECK (VALUE ~ '[^[:space:]]');

CREATE TABLE studio (
	studio_id bigint GENERATED ALWAYS AS IDENTITY,
	name name_line NOT NULL,
	currency currency_code NOT NULL DEFAULT 'USD',
	time_zone text NOT NULL DEFAULT 'UTC',
	measure text NOT NULL DEFAULT 'inch',
	ruler_u length_u NOT NULL DEFAULT 508,          -- 1/16 in
	sliver_u length_or_zero_u NOT NULL DEFAULT 0,
	oversize_u length_or_zero_u NOT NULL DEFAULT 0,
	stages integer NOT NULL DEFAULT 3,
	straightedge_u length_or_zero_u NOT NULL DEFAULT 0,
	table_u length_or_zero_u NOT NULL DEFAULT 0,
	keep_u length_or_zero_u NOT NULL DEFAULT 48768, -- 6 in
	side_up text_line NOT NULL DEFAULT '',
	flattening_days integer NOT NULL DEFAULT 2,
	count_max integer NOT NULL DEFAULT 100,
	names_on_sheets boolean NOT NULL DEFAULT true,
	created_at timestamptz NOT NULL DEFAULT now(),
	version bigint NOT NULL DEFAULT 1,
	CONSTRAINT studio_key PRIMARY KEY (studio_id),
	CONSTRAINT studio_measure_known CHECK (measure IN ('inch', 'mm', 'cm')),
	CONSTRAINT studio_stages_two_or_three CHECK (stages IN (2, 3)),
	CONSTRAINT studio_flattening_in_range CHECK (flattening_days BETWEEN 0 AND 365),
	CONSTRAINT studio_count_max_in_range CHECK (count_max BETWEEN 1 AND 10000),
	CONSTRAINT studio_time_zone_form
		CHECK (time_zone ~ '^[A-Za-z][A-Za-z0-9_+/-]*$' AND char_length(time_zone) <= 64)
);

-- The server's own list of zones decides; a CHECK may not depend on it.
CREATE FUNCTION studio_time_zone_check() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	PERFORM now() AT TIME ZONE NEW.time_zone;
	RETURN NEW;
EXCEPTION WHEN invalid_parameter_value THEN
	RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'studio_time_zone_known',
		MESSAGE = 'time zone is not known';
END $$;
CREATE TRIGGER studio_time_zone_known BEFORE INSERT OR UPDATE OF time_zone ON studio
	FOR EACH ROW EXECUTE FUNCTION studio_time_zone_check();

-- roles: bits of student 1, instructor 2, treasurer 4, owner 8.
CREATE TABLE member (
	studio_id bigint NOT NULL,
	member_id bigint GENERATED ALWAYS AS IDENTITY,
	name name_line NOT NULL,
	contact text_line NOT NULL DEFAULT '',
	roles integer NOT NULL DEFAULT 1,
	guardian boolean NOT NULL DEFAULT false,
	active boolean NOT NULL DEFAULT true,
	created_at timestamptz NOT NULL DEFAULT now(),
	version bigint NOT NULL DEFAULT 1,
	CONSTRAINT member_key PRIMARY KEY (studio_id, member_id),
	CONSTRAINT member_of_studio FOREIGN KEY (studio_id) REFERENCES studio,
	CONSTRAINT member_roles_known CHECK (roles BETWEEN 1 AND 15)
);

-- A studio without an owner could never be changed again.  The studio's row is locked, or two
-- owners could remove each other at once.
CREATE FUNCTION member_last_owner_check() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	PERFORM 1 FROM tearshare.studio WHERE studio_id = NEW.studio_id FOR UPDATE;
	IF NOT EXISTS (SELECT 1 FROM tearshare.member WHERE studio_id = NEW.studio_id
			AND active AND roles & 8 <> 0) THEN
		RAISE EXCEPTION USING ERRCODE = 'check_violation', CONSTRAINT = 'member_last_owner',
			MESSAGE = 'the last active owner of a studio cannot go';
	END IF;
	RETURN NULL;
END $$;
CREATE TRIGGER member_last_owner AFTER UPDATE OF roles, active ON member
	FOR EACH ROW WHEN (OLD.active AND OLD.roles & 8 <> 0 AND NOT (NEW.active AND NEW.roles & 8 <> 0))
	EXECUTE FUNCTION member_last_owner_check();

CREATE TABLE key (
	studio_id bigint NOT NULL,
	key_id bigint GENERATED ALWAYS AS IDENTITY,
	member_id bigint NOT NULL,
	name text_line NOT NULL DEFAULT '',
	hash secret_hash NOT NULL,
	created_at timestamptz NOT NULL DEFAULT now(),
	expires_at timestamptz,
	last_used_at timestamptz,
	revoked_at timestamptz,
	CONSTRAINT key_key PRIMARY KEY (studio_id, key_id),
	CONSTRAINT key_of_member FOREIGN KEY (studio_id, member_id) REFERENCES member,
	CONSTRAINT key_hash_once UNIQUE (hash)
);
CREATE INDEX key_by_member ON key (studio_id, member_id);

CREATE TABLE session (
	studio_id bigint NOT NULL,
	session_id bigint GENERATED ALWAYS AS IDENTITY,
	member_id bigint NOT NULL,
	hash secret_hash NOT NULL,
	agent text_line NOT NULL DEFAULT '',
	created_at timestamptz NOT NULL DEFAULT now(),
	last_seen_at timestamptz NOT NULL DEFAULT now(),
	ended_at timestamptz,
	CONSTRAINT session_key PRIMARY KEY (studio_id, session_id),
	CONSTRAINT session_of_member FOREIGN KEY (studio_id, member_id) REFERENCES member,
	CONSTRAINT session_hash_once UNIQUE (hash)
);
CREATE INDEX session_by_member ON session (studio_id, member_id);
