/* SPDX-License-Identifier: MIT */
/*
 * cli_columns.c - what is shown of each kind of answer.
 *
 * name (under --plain), title (for people), place in the object, kind, text when absent.
 */
#include "cli_columns.h"

/* clang-format off */
const struct column columns_health[] = {
	{ "status", "server", "status", COL_TEXT, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_me[] = {
	{ "member", "member", "member/id", COL_NUMBER, NULL },
	{ "name", "name", "member/name", COL_TEXT, NULL },
	{ "roles", "roles", "roles", COL_LIST, NULL },
	{ "studio", NULL, "studio/id", COL_NUMBER, NULL },
	{ "studio_name", "studio", "studio/name", COL_TEXT, NULL },
	{ "contact", "contact", "member/contact", COL_TEXT, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_studio[] = {
	{ "id", NULL, "id", COL_NUMBER, NULL },
	{ "name", "studio", "name", COL_TEXT, NULL },
	{ "currency", "currency", "currency", COL_TEXT, NULL },
	{ "time_zone", "time zone", "time_zone", COL_TEXT, NULL },
	{ "measure", "measure", "measure", COL_TEXT, NULL },
	{ "ruler_u", "ruler", "ruler", COL_LENGTH, NULL },
	{ "sliver_u", "sliver", "sliver", COL_LENGTH, NULL },
	{ "oversize_u", "oversize", "oversize", COL_LENGTH, NULL },
	{ "stages", "stages", "stages", COL_NUMBER, NULL },
	{ "straightedge_u", "straightedge", "straightedge", COL_LENGTH, NULL },
	{ "table_u", "table", "table", COL_LENGTH, NULL },
	{ "keep_u", "keep", "keep", COL_LENGTH, NULL },
	{ "side_up", "side up", "side_up", COL_TEXT, NULL },
	{ "flattening_days", "flattening", "flattening_days", COL_NUMBER, NULL },
	{ "count_max", "most sheets", "count_max", COL_NUMBER, NULL },
	{ "names_on_sheets", "names on sheets", "names_on_sheets", COL_YES, NULL },
	{ "share_policy", "shared", "share_policy", COL_TEXT, NULL },
	{ "share_ceiling", "ceiling", "share_ceiling", COL_YES, NULL },
	{ "shipping_each", "shipping each", "shipping_each", COL_YES, NULL },
	{ "full_names", "names in full", "full_names", COL_TEXT, NULL },
	{ "language", "language", "language", COL_TEXT, NULL },
	{ "both_measures", "both measures", "both_measures", COL_YES, NULL },
	{ "pull", "pulled side", "pull", COL_TEXT, NULL },
	{ "rules", "rules", "rules", COL_TEXT, NULL },
	{ "sheet_page", "sheet page", "sheet_page", COL_TEXT, NULL },
	{ "label_grid", "label grid", "label_grid", COL_TEXT, NULL },
	{ "payee_name", "payee", "payee_name", COL_TEXT, NULL },
	{ "payee_account", "account", "payee_account", COL_TEXT, NULL },
	{ "pay_within_days", "days to pay", "pay_within_days", COL_NUMBER, NULL },
	{ "locale", "locale", "locale", COL_TEXT, NULL },
	{ "version", NULL, "version", COL_NUMBER, NULL },
	{ "forget_days", "forgotten after", "forget_days", COL_NUMBER, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_member[] = {
	{ "id", "id", "id", COL_NUMBER, NULL },
	{ "name", "member", "name", COL_TEXT, NULL },
	{ "roles", "roles", "roles", COL_LIST, NULL },
	{ "contact", "contact", "contact", COL_TEXT, NULL },
	{ "guardian", "guardian", "guardian", COL_YES, NULL },
	{ "active", "active", "active", COL_YES, NULL },
	{ "created_at", NULL, "created_at", COL_INSTANT, NULL },
	{ "version", NULL, "version", COL_NUMBER, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_data[] = {
	{ "table", "table", "table", COL_TEXT, NULL },
	{ "id", "id", "id", COL_NUMBER, NULL },
	{ "as", "as", "as", COL_TEXT, NULL },
	{ "data", "data", "data", COL_JSON, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_kept[] = {
	{ "table", "table", "table", COL_TEXT, NULL },
	{ "count", "rows", "count", COL_NUMBER, NULL },
	{ "why", "why it is kept", "why", COL_TEXT, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_mention[] = {
	{ "table", "table", "table", COL_TEXT, NULL },
	{ "count", "rows", "count", COL_NUMBER, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_key[] = {
	{ "id", "id", "id", COL_NUMBER, NULL },
	{ "member", NULL, "member_id", COL_NUMBER, NULL },
	{ "name", "key", "name", COL_TEXT, NULL },
	{ "created_at", NULL, "created_at", COL_INSTANT, NULL },
	{ "expires_at", "expires", "expires_at", COL_INSTANT, "never" },
	{ "last_used_at", "last used", "last_used_at", COL_INSTANT, "never" },
	{ "revoked_at", "revoked", "revoked_at", COL_INSTANT, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_new_key[] = {
	{ "id", "id", "id", COL_NUMBER, NULL },
	{ "member", "member", "member_id", COL_NUMBER, NULL },
	{ "name", "name", "name", COL_TEXT, NULL },
	{ "key", "key", "key", COL_TEXT, NULL },
	{ "expires_at", "expires", "expires_at", COL_INSTANT, "never" },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_paper[] = {
	{ "id", "id", "id", COL_NUMBER, NULL },
	{ "name", "paper", "name", COL_TEXT, NULL },
	{ "weight_gsm", "g/m2", "weight_gsm", COL_NUMBER, NULL },
	{ "finish", "finish", "finish", COL_TEXT, NULL },
	{ "fibre", "fibre", "fibre", COL_TEXT, NULL },
	{ "colour", "colour", "colour", COL_TEXT, NULL },
	{ "active", "active", "active", COL_YES, NULL },
	{ "version", NULL, "version", COL_NUMBER, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_stock[] = {
	{ "id", "id", "id", COL_NUMBER, NULL },
	{ "paper", "paper", "paper_id", COL_NUMBER, NULL },
	{ "kind", "kind", "kind", COL_TEXT, NULL },
	{ "name", "name", "name", COL_TEXT, NULL },
	{ "width_u", "width", "width", COL_LENGTH, NULL },
	{ "length_u", "length", "length", COL_LENGTH, NULL },
	{ "price_minor", "price", "price_minor", COL_MONEY, NULL },
	{ "currency", NULL, "currency", COL_TEXT, NULL },
	{ "available", "there", "available", COL_NUMBER, "any" },
	{ "lot", NULL, "lot", COL_TEXT, NULL },
	{ "place", NULL, "place", COL_TEXT, NULL },
	{ "active", NULL, "active", COL_YES, NULL },
	{ "version", NULL, "version", COL_NUMBER, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_workshop[] = {
	{ "id", "id", "id", COL_NUMBER, NULL },
	{ "name", "workshop", "name", COL_TEXT, NULL },
	{ "state", "state", "state", COL_TEXT, NULL },
	{ "closes_at", "closes", "closes_at", COL_INSTANT, NULL },
	{ "starts_on", "starts", "starts_on", COL_TEXT, NULL },
	{ "days", NULL, "days", COL_NUMBER, NULL },
	{ "flat_on", NULL, "flat_on", COL_TEXT, NULL },
	{ "takes_requests", NULL, "takes_requests", COL_YES, NULL },
	{ "stages", NULL, "stages", COL_NUMBER, NULL },
	{ "papers", "papers", "papers", COL_LIST, NULL },
	{ "plan", NULL, "accepted_plan_id", COL_NUMBER, NULL },
	{ "share_policy", NULL, "share_policy", COL_TEXT, NULL },
	{ "share_ceiling", NULL, "share_ceiling", COL_YES, NULL },
	{ "shipping_each", NULL, "shipping_each", COL_YES, NULL },
	{ "version", NULL, "version", COL_NUMBER, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_invitation[] = {
	{ "id", "id", "id", COL_NUMBER, NULL },
	{ "workshop", NULL, "workshop_id", COL_NUMBER, NULL },
	{ "good", "good", "good", COL_YES, NULL },
	{ "uses", "used", "uses", COL_NUMBER, NULL },
	{ "uses_max", "of", "uses_max", COL_NUMBER, NULL },
	{ "expires_at", "expires", "expires_at", COL_INSTANT, NULL },
	{ "revoked_at", "revoked", "revoked_at", COL_INSTANT, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_new_invitation[] = {
	{ "id", NULL, "id", COL_NUMBER, NULL },
	{ "link", "link", "link", COL_TEXT, NULL },
	{ "code", "code", "code", COL_TEXT, NULL },
	{ "expires_at", "expires", "expires_at", COL_INSTANT, NULL },
	{ "uses_max", "uses", "uses_max", COL_NUMBER, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_joined[] = {
	{ "member", "member", "member/id", COL_NUMBER, NULL },
	{ "name", "name", "member/name", COL_TEXT, NULL },
	{ "workshop", NULL, "workshop/id", COL_NUMBER, NULL },
	{ "workshop_name", "workshop", "workshop/name", COL_TEXT, NULL },
	{ "closes_at", "closes", "workshop/closes_at", COL_INSTANT, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_spoken[] = {
	{ "paper", NULL, "paper_id", COL_NUMBER, NULL },
	{ "paper_name", "paper", "paper", COL_TEXT, NULL },
	{ "members", "members", "members", COL_NUMBER, NULL },
	{ "sheets", "sheets", "sheets", COL_NUMBER, NULL },
	{ "area_uu", NULL, "area_uu", COL_NUMBER, NULL },
	{ "widest_u", "widest", "widest", COL_LENGTH, NULL },
	{ "roll_tenths", NULL, "roll_tenths", COL_NUMBER, NULL },
	{ NULL, "rolls", "roll_tenths", COL_TENTHS, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_estimate[] = {
	{ "member", NULL, "member_id", COL_NUMBER, NULL },
	{ "member_name", "member", "member", COL_TEXT, NULL },
	{ "share_minor", "if no more come", "share_minor", COL_MONEY, NULL },
	{ "filled_minor", "if the rolls fill", "filled_minor", COL_MONEY, NULL },
	{ "alone_minor", "alone", "alone_minor", COL_MONEY, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_request[] = {
	{ "id", "id", "id", COL_NUMBER, NULL },
	{ "workshop", NULL, "workshop_id", COL_NUMBER, NULL },
	{ "member", NULL, "member_id", COL_NUMBER, NULL },
	{ "member_name", "member", "member", COL_TEXT, NULL },
	{ "paper", NULL, "paper_id", COL_NUMBER, NULL },
	{ "paper_name", "paper", "paper", COL_TEXT, NULL },
	{ "count", "count", "count", COL_NUMBER, NULL },
	{ NULL, "torn size", "torn", COL_SIZE, NULL },
	{ "across_u", NULL, "finished/across", COL_LENGTH, NULL },
	{ "along_u", NULL, "finished/along", COL_LENGTH, NULL },
	{ "margin_u", "margin", "margin", COL_LENGTH, NULL },
	{ "torn_across_u", NULL, "torn/across", COL_LENGTH, NULL },
	{ "torn_along_u", NULL, "torn/along", COL_LENGTH, NULL },
	{ "turn", "turn", "turn", COL_YES, NULL },
	{ "note", NULL, "note", COL_TEXT, NULL },
	{ "version", NULL, "version", COL_NUMBER, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_plan[] = {
	{ "id", "id", "id", COL_NUMBER, NULL },
	{ "workshop", NULL, "workshop_id", COL_NUMBER, NULL },
	{ "number", "plan", "number", COL_NUMBER, NULL },
	{ "state", "state", "state", COL_TEXT, NULL },
	{ "check_code", "code", "check_code", COL_TEXT, NULL },
	{ "fresh_rolls", "rolls", "totals/fresh_rolls", COL_NUMBER, NULL },
	{ "price_minor", "price", "totals/price_minor", COL_MONEY, NULL },
	{ "currency", NULL, "currency", COL_TEXT, NULL },
	{ "strip_length_u", "strips", "totals/strip_length", COL_LENGTH, NULL },
	{ "tears", "tears", "totals/tears", COL_NUMBER, NULL },
	{ "unplaced", "unplaced", "totals/unplaced", COL_NUMBER, NULL },
	{ "proven_fresh_rolls", NULL, "proven/fresh_rolls", COL_YES, NULL },
	{ "proven_price", NULL, "proven/price", COL_YES, NULL },
	{ "proven_strip_length", NULL, "proven/strip_length", COL_YES, NULL },
	{ "version", NULL, "version", COL_NUMBER, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
/* One paper of a plan; shown below it for people only. */
const struct column columns_job[] = {
	{ "paper", NULL, "paper_id", COL_NUMBER, NULL },
	{ "paper_name", "paper", "paper", COL_TEXT, NULL },
	{ "state", "state", "state", COL_TEXT, NULL },
	{ "fresh_rolls", "rolls", "best/fresh_rolls", COL_NUMBER, NULL },
	{ "bound_fresh_rolls", "at least", "bound/fresh_rolls", COL_NUMBER, NULL },
	{ "strip_length_u", "strips", "best/strip_length", COL_LENGTH, NULL },
	{ "bound_strip_length_u", "at least", "bound/strip_length", COL_LENGTH, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_share[] = {
	{ "member", NULL, "member_id", COL_NUMBER, NULL },
	{ "member_name", "member", "member", COL_TEXT, NULL },
	{ "sheets", "sheets", "sheets", COL_NUMBER, NULL },
	{ "share_minor", "share", "share_minor", COL_MONEY, NULL },
	{ "charged_minor", "charged", "charged_minor", COL_MONEY, NULL },
	{ "paid_minor", "paid", "paid_minor", COL_MONEY, NULL },
	{ "balance_minor", "still owed", "balance_minor", COL_MONEY, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_settlement[] = {
	{ "id", "id", "id", COL_NUMBER, NULL },
	{ "number", "number", "number", COL_NUMBER, NULL },
	{ "workshop", NULL, "workshop_id", COL_NUMBER, NULL },
	{ "plan", "plan", "plan_id", COL_NUMBER, NULL },
	{ "invoice_minor", "invoice", "invoice_minor", COL_MONEY, NULL },
	{ "charged_minor", "charged", "charged_minor", COL_MONEY, NULL },
	{ "currency", NULL, "currency", COL_TEXT, NULL },
	{ "created_at", "when", "created_at", COL_INSTANT, NULL },
	{ "created_by", "by", "created_by", COL_NUMBER, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_invoice[] = {
	{ "id", "id", "id", COL_NUMBER, NULL },
	{ "workshop", NULL, "workshop_id", COL_NUMBER, NULL },
	{ "number", "number", "number", COL_TEXT, NULL },
	{ "supplier", "supplier", "supplier", COL_TEXT, NULL },
	{ "dated_on", "dated", "dated_on", COL_TEXT, NULL },
	{ "total_minor", "total", "total_minor", COL_MONEY, NULL },
	{ "currency", NULL, "currency", COL_TEXT, NULL },
	{ "replaces", "replaces", "replaces_id", COL_NUMBER, NULL },
	{ "replaced_by", "replaced by", "replaced_by_id", COL_NUMBER, NULL },
	{ "withdrawn", NULL, "withdrawn", COL_YES, NULL },
	{ "reason", "why", "reason", COL_TEXT, NULL },
	{ "advanced_by", NULL, "advanced_by", COL_NUMBER, NULL },
	{ "created_at", NULL, "created_at", COL_INSTANT, NULL },
	{ "created_by", NULL, "created_by", COL_NUMBER, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
/* One line of an invoice; shown below it for people only. */
const struct column columns_line[] = {
	{ "line", "line", "line", COL_NUMBER, NULL },
	{ "kind", "kind", "kind", COL_TEXT, NULL },
	{ "paper", "paper", "paper_id", COL_NUMBER, NULL },
	{ "count", "count", "count", COL_NUMBER, NULL },
	{ "unit_minor", "each", "unit_minor", COL_MONEY, NULL },
	{ "amount_minor", "amount", "amount_minor", COL_MONEY, NULL },
	{ "tax_percent", "tax %", "tax_percent", COL_TEXT, NULL },
	{ "description", "what", "description", COL_TEXT, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_reminder[] = {
	{ "workshop", NULL, "workshop_id", COL_NUMBER, NULL },
	{ "workshop_name", "workshop", "workshop", COL_TEXT, NULL },
	{ "member", NULL, "member_id", COL_NUMBER, NULL },
	{ "member_name", "member", "member", COL_TEXT, NULL },
	{ "contact", "contact", "contact", COL_TEXT, NULL },
	{ "owed_minor", "still owed", "owed_minor", COL_MONEY, NULL },
	{ "currency", NULL, "currency", COL_TEXT, NULL },
	{ "since", "since", "since", COL_TEXT, NULL },
	{ "due_on", "by", "due_on", COL_TEXT, NULL },
	{ "late_days", "days late", "late_days", COL_NUMBER, NULL },
	{ "reference", "reference", "reference", COL_TEXT, NULL },
	{ NULL, NULL, NULL, COL_TEXT, NULL },
};

const struct column columns_account[] = {
	{ "account", "account", "account", COL_TEXT, NULL },
	{ "member", NULL, "member_id", COL_NUMBER, NULL },
	{ "member_name", "member", "member", COL_TEXT, NULL },
	{ "debit_minor", "debit", "debit_minor", COL_MONEY, NULL },
	{ "credit_minor", "credit", "credit_minor", COL_MONEY, NULL },
	{ "balance_minor", "balance", "balance_minor", COL_MONEY, NULL },
	{ "currency", NULL, "currency", COL_TEXT, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_entry[] = {
	{ "id", "id", "id", COL_NUMBER, NULL },
	{ "workshop", NULL, "workshop_id", COL_NUMBER, NULL },
	{ "member", NULL, "member_id", COL_NUMBER, NULL },
	{ "member_name", "member", "member", COL_TEXT, NULL },
	{ "kind", "kind", "kind", COL_TEXT, NULL },
	{ "amount_minor", "amount", "amount_minor", COL_MONEY, NULL },
	{ "currency", NULL, "currency", COL_TEXT, NULL },
	{ "paid_on", "paid on", "paid_on", COL_TEXT, NULL },
	{ "method", "method", "method", COL_TEXT, NULL },
	{ "reference", "reference", "reference", COL_TEXT, NULL },
	{ "reason", NULL, "reason", COL_TEXT, NULL },
	{ "settlement", NULL, "settlement_id", COL_NUMBER, NULL },
	{ "reverses", NULL, "reverses_id", COL_NUMBER, NULL },
	{ "reversed_by", "reversed by", "reversed_by_id", COL_NUMBER, NULL },
	{ "created_at", NULL, "created_at", COL_INSTANT, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_event[] = {
	{ "id", "id", "id", COL_NUMBER, NULL },
	{ "at", "when", "at", COL_INSTANT, NULL },
	{ "kind", "what", "kind", COL_TEXT, NULL },
	{ "workshop", "workshop", "workshop_id", COL_NUMBER, NULL },
	{ "member", "member", "member_id", COL_NUMBER, NULL },
	{ "by", "by", "by", COL_NUMBER, NULL },
	{ "details", NULL, "details", COL_JSON, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_finding[] = {
	{ "workshop", "workshop", "workshop_id", COL_NUMBER, NULL },
	{ "member", "member", "member_id", COL_NUMBER, NULL },
	{ "what", "what is wrong", "what", COL_TEXT, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
const struct column columns_size[] = {
	{ "side", "side", "side", COL_TEXT, NULL },
	{ "finished_u", NULL, "finished/u", COL_NUMBER, NULL },
	{ "torn_u", NULL, "torn/u", COL_NUMBER, NULL },
	{ "in", "inches", "in", COL_TEXT, NULL },
	{ "cm", "centimetres", "cm", COL_TEXT, NULL },
	{ "mm", "millimetres", "mm", COL_TEXT, NULL },
	{ NULL, NULL, NULL, 0, NULL },
};
/* clang-format on */
