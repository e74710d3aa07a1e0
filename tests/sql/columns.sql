-- SPDX-License-Identifier: MIT
-- Every column of every table, in the order of the tables: what columns.txt gives a purpose to.
\pset format unaligned
\pset tuples_only on
SELECT relname || '.' || attname FROM pg_class c JOIN pg_attribute a ON a.attrelid = c.oid
WHERE relnamespace = 'tearshare'::regnamespace AND relkind = 'r' AND attnum > 0 AND NOT attisdropped
ORDER BY relname, attnum;
