-- SPDX-License-Identifier: MIT
-- Who may do what, as the database itself tells it: the golden file rights.txt is its answer.
\pset format unaligned
\pset tuples_only on
\pset fieldsep ' '

\echo == roles: none is a superuser or makes roles or databases
SELECT rolname, CASE WHEN rolsuper THEN 'SUPERUSER' ELSE '-' END, CASE WHEN rolcreaterole THEN 'CREATEROLE' ELSE '-' END,
	CASE WHEN rolcreatedb THEN 'CREATEDB' ELSE '-' END, CASE WHEN rolbypassrls THEN 'BYPASSRLS' ELSE '-' END
FROM pg_roles WHERE rolname LIKE 'tearshare%' ORDER BY 1;

\echo == what each role is a member of
SELECT m.rolname, g.rolname FROM pg_auth_members a JOIN pg_roles g ON g.oid = a.roleid JOIN pg_roles m ON m.oid = a.member
WHERE m.rolname LIKE 'tearshare%' ORDER BY 1, 2;

\echo == who owns what is in the schema
SELECT DISTINCT pg_get_userbyid(relowner) FROM pg_class WHERE relnamespace = 'tearshare'::regnamespace
UNION SELECT pg_get_userbyid(proowner) FROM pg_proc WHERE pronamespace = 'tearshare'::regnamespace
UNION SELECT pg_get_userbyid(typowner) FROM pg_type WHERE typnamespace = 'tearshare'::regnamespace
UNION SELECT pg_get_userbyid(nspowner) FROM pg_namespace WHERE nspname = 'tearshare';

\echo == rights on the database and its schemas, PUBLIC included
SELECT 'database', CASE WHEN grantee = 0 THEN 'PUBLIC' ELSE pg_get_userbyid(grantee) END, string_agg(privilege_type, ',' ORDER BY privilege_type)
FROM pg_database, aclexplode(datacl) WHERE datname = current_database() AND (grantee = 0 OR pg_get_userbyid(grantee) LIKE 'tearshare%') GROUP BY 2 ORDER BY 2;
SELECT nspname, CASE WHEN grantee = 0 THEN 'PUBLIC' ELSE pg_get_userbyid(grantee) END, string_agg(privilege_type, ',' ORDER BY privilege_type)
FROM pg_namespace, aclexplode(nspacl) WHERE nspname IN ('tearshare', 'public') AND (grantee = 0 OR pg_get_userbyid(grantee) LIKE 'tearshare%') GROUP BY 1, 2 ORDER BY 1, 2;

\echo == tables: role, table, rights
SELECT CASE WHEN grantee = 0 THEN 'PUBLIC' ELSE pg_get_userbyid(grantee) END AS who, relname, string_agg(privilege_type, ',' ORDER BY privilege_type)
FROM pg_class, aclexplode(relacl) WHERE relnamespace = 'tearshare'::regnamespace AND relkind IN ('r', 'v', 'S')
	AND pg_get_userbyid(grantee) <> 'tearshare_owner' GROUP BY 1, 2 ORDER BY 1, 2;

\echo == columns given one by one
SELECT pg_get_userbyid(grantee) AS who, relname, privilege_type, string_agg(attname, ',' ORDER BY attname)
FROM pg_attribute JOIN pg_class c ON c.oid = attrelid, aclexplode(attacl)
WHERE relnamespace = 'tearshare'::regnamespace GROUP BY 1, 2, 3 ORDER BY 1, 2, 3;

\echo == functions that PUBLIC or a role other than the owner may call
SELECT proname, CASE WHEN grantee = 0 THEN 'PUBLIC' ELSE pg_get_userbyid(grantee) END FROM pg_proc, aclexplode(coalesce(proacl, acldefault('f', proowner)))
WHERE pronamespace = 'tearshare'::regnamespace AND pg_get_userbyid(grantee) <> 'tearshare_owner' ORDER BY 1, 2;

\echo == functions that run as somebody else
SELECT proname FROM pg_proc WHERE pronamespace = 'tearshare'::regnamespace AND prosecdef ORDER BY 1;
