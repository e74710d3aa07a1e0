-- SPDX-License-Identifier: MIT
-- Rules of the catalogue itself.  Every query names what breaks one; the answer is empty.
\pset format unaligned
\pset tuples_only on
\pset fieldsep ' '

-- Each table's key begins with studio_id (schema_version belongs to no studio).
SELECT 'key does not begin with studio_id:', conrelid::regclass FROM pg_constraint
WHERE contype = 'p' AND connamespace = 'tearshare'::regnamespace AND conrelid <> 'tearshare.schema_version'::regclass
	AND (SELECT attname FROM pg_attribute WHERE attrelid = conrelid AND attnum = conkey[1]) <> 'studio_id';
SELECT 'table without a key:', relname FROM pg_class c WHERE relnamespace = 'tearshare'::regnamespace AND relkind = 'r'
	AND NOT EXISTS (SELECT 1 FROM pg_constraint WHERE conrelid = c.oid AND contype = 'p');

-- Each foreign key leads studio_id to studio_id, so that no row points into another studio.
SELECT 'foreign key crosses studios:', conname FROM pg_constraint WHERE contype = 'f' AND connamespace = 'tearshare'::regnamespace
	AND NOT EXISTS (SELECT 1 FROM generate_subscripts(conkey, 1) i
		JOIN pg_attribute a ON a.attrelid = conrelid AND a.attnum = conkey[i]
		JOIN pg_attribute b ON b.attrelid = confrelid AND b.attnum = confkey[i]
		WHERE a.attname = 'studio_id' AND b.attname = 'studio_id');

-- Rules have names of ours, not those PostgreSQL makes up.
SELECT 'rule without a name of its own:', conname FROM pg_constraint WHERE connamespace = 'tearshare'::regnamespace
	AND conname ~ '_(check|fkey|pkey|excl)[0-9]*$|_key[0-9]+$' AND contype <> 'p';

-- Instants are timestamptz; days are dates; no floating point, no money, no char(n).
SELECT 'type not for us:', table_name, column_name, data_type FROM information_schema.columns
WHERE table_schema = 'tearshare' AND data_type IN ('timestamp without time zone', 'time without time zone', 'time with time zone',
	'real', 'double precision', 'money', 'character');
SELECT 'an instant that is none:', table_name, column_name FROM information_schema.columns WHERE table_schema = 'tearshare'
	AND (column_name LIKE '%\_at' OR column_name = 'at') AND data_type <> 'timestamp with time zone';
SELECT 'a day that is none:', table_name, column_name FROM information_schema.columns WHERE table_schema = 'tearshare'
	AND column_name LIKE '%\_on' AND data_type <> 'date';

-- What is written nowhere else carries its unit in its name.
SELECT 'length or money without its unit:', table_name, column_name FROM information_schema.columns WHERE table_schema = 'tearshare'
	AND (domain_name LIKE 'length%' AND column_name NOT LIKE '%\_u');

-- The tables to which rows are only added refuse the rest with a statement trigger for each.
SELECT 'may be changed:', t FROM unnest(ARRAY['ledger_entry', 'booking', 'account', 'invoice', 'invoice_line',
	'settlement', 'settlement_invoice', 'share', 'accepted_plan', 'event']) t
WHERE NOT EXISTS (SELECT 1 FROM pg_trigger WHERE tgrelid = ('tearshare.' || t)::regclass AND tgenabled = 'O'
	AND tgfoid = 'tearshare.only_added_to'::regproc AND tgtype & 1 = 0 AND tgtype & 8 <> 0 AND tgtype & 16 <> 0 AND tgtype & 32 <> 0);

-- Functions that run with more rights than their caller would need a fixed search path.
SELECT 'search path not fixed:', proname FROM pg_proc WHERE pronamespace = 'tearshare'::regnamespace AND prosecdef
	AND NOT coalesce(proconfig::text LIKE '%search_path=%', false);
