-- SPDX-License-Identifier: MIT
-- Who may do what, table by table.  The daemon owns nothing and cannot change or remove what
-- is only added to; the planner sees jobs and nothing of money or people; PUBLIC has nothing.

REVOKE ALL ON ALL TABLES IN SCHEMA tearshare FROM PUBLIC;
REVOKE ALL ON ALL FUNCTIONS IN SCHEMA tearshare FROM PUBLIC;
ALTER DEFAULT PRIVILEGES IN SCHEMA tearshare REVOKE ALL ON TABLES FROM PUBLIC;
ALTER DEFAULT PRIVILEGES REVOKE EXECUTE ON FUNCTIONS FROM PUBLIC;

GRANT USAGE ON SCHEMA tearshare TO tearshare_daemon, tearshare_planner, tearshare_backup;

GRANT SELECT ON schema_version TO tearshare_daemon, tearshare_planner;

GRANT SELECT, INSERT, UPDATE ON studio, member, key, paper, stock, workshop, request, plan, job
	TO tearshare_daemon;
GRANT SELECT, INSERT, UPDATE, DELETE ON session, invitation, stock_use, workshop_paper
	TO tearshare_daemon;
GRANT SELECT, INSERT ON enrolment, accepted_plan, settlement, ledger_entry, event
	TO tearshare_daemon;
GRANT SELECT, INSERT, DELETE ON kept_answer TO tearshare_daemon;

GRANT SELECT ON job TO tearshare_planner;
GRANT UPDATE (state, attempt, faults, cancel, worker, lease_until, not_before, result, check_code, reason,
	best_rolls, best_price_minor, best_length_u, bound_rolls, bound_price_minor, bound_length_u,
	steps, taken_at, ended_at) ON job TO tearshare_planner;
GRANT SELECT (studio_id, paper_id, name) ON paper TO tearshare_planner;
GRANT SELECT ON plan TO tearshare_planner;
GRANT UPDATE (state, check_code, version) ON plan TO tearshare_planner;
