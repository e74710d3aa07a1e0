-- SPDX-License-Identifier: MIT
-- What happened, and answers kept for requests that are repeated.

CREATE TABLE event (
	studio_id bigint NOT NULL,
	event_id bigint GENERATED ALWAYS AS IDENTITY,
	workshop_id bigint,
	member_id bigint,
	by_member bigint,
	kind text NOT NULL,
	details json NOT NULL DEFAULT '{}',
	at timestamptz NOT NULL DEFAULT now(),
	CONSTRAINT event_key PRIMARY KEY (studio_id, event_id),
	CONSTRAINT event_of_studio FOREIGN KEY (studio_id) REFERENCES studio,
	CONSTRAINT event_of_workshop FOREIGN KEY (studio_id, workshop_id) REFERENCES workshop,
	CONSTRAINT event_of_member FOREIGN KEY (studio_id, member_id) REFERENCES member,
	CONSTRAINT event_by_whom FOREIGN KEY (studio_id, by_member) REFERENCES member (studio_id, member_id),
	CONSTRAINT event_kind_form CHECK (kind ~ '^[a-z][a-z-]{0,62}$'),
	CONSTRAINT event_details_is_object CHECK (json_typeof(details) = 'object')
);
CREATE INDEX event_by_workshop ON event (studio_id, workshop_id, event_id);
CREATE TRIGGER event_only_added_to BEFORE UPDATE OR DELETE OR TRUNCATE ON event
	FOR EACH STATEMENT EXECUTE FUNCTION only_added_to();

-- caller: "key:17", "session:4", "invitation:9".
CREATE TABLE kept_answer (
	studio_id bigint NOT NULL,
	caller text NOT NULL,
	key text NOT NULL,
	fingerprint secret_hash NOT NULL,
	status integer NOT NULL,
	fields json NOT NULL DEFAULT '{}',
	body bytea NOT NULL,
	created_at timestamptz NOT NULL DEFAULT now(),
	CONSTRAINT kept_answer_key PRIMARY KEY (studio_id, caller, key),
	CONSTRAINT kept_answer_of_studio FOREIGN KEY (studio_id) REFERENCES studio,
	CONSTRAINT kept_answer_key_form CHECK (octet_length(key) BETWEEN 1 AND 64),
	CONSTRAINT kept_answer_status_form CHECK (status BETWEEN 200 AND 499)
);
CREATE INDEX kept_answer_by_age ON kept_answer (created_at);
