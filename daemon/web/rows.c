/* SPDX-License-Identifier: MIT */
/*
 * rows.c - copies of rows: every text of a struct is copied into the arena, the rest as it is.
 */
#include "rows.h"

static const char *keep(struct arena *a, const char *s)
{
	return s == NULL ? NULL : arena_strdup(a, s);
}

struct studio row_keep_studio(struct arena *a, const struct studio *row)
{
	struct studio copy = *row;

	copy.name = keep(a, row->name);
	copy.currency = keep(a, row->currency);
	copy.time_zone = keep(a, row->time_zone);
	copy.side_up = keep(a, row->side_up);
	copy.language = keep(a, row->language);
	copy.rules = keep(a, row->rules);
	copy.label_grid = keep(a, row->label_grid);
	copy.payee_name = keep(a, row->payee_name);
	copy.payee_account = keep(a, row->payee_account);
	copy.locale = keep(a, row->locale);
	return copy;
}

struct caller row_keep_caller(struct arena *a, const struct caller *row)
{
	struct caller copy = *row;

	copy.name = keep(a, row->name);
	copy.studio = row_keep_studio(a, &row->studio);
	return copy;
}

struct member row_keep_member(struct arena *a, const struct member *row)
{
	struct member copy = *row;

	copy.name = keep(a, row->name);
	copy.contact = keep(a, row->contact);
	copy.created_at = keep(a, row->created_at);
	copy.erased_at = keep(a, row->erased_at);
	return copy;
}

struct key row_keep_key(struct arena *a, const struct key *row)
{
	struct key copy = *row;

	copy.name = keep(a, row->name);
	copy.created_at = keep(a, row->created_at);
	copy.expires_at = keep(a, row->expires_at);
	copy.last_used_at = keep(a, row->last_used_at);
	copy.revoked_at = keep(a, row->revoked_at);
	return copy;
}

struct session row_keep_session(struct arena *a, const struct session *row)
{
	struct session copy = *row;

	copy.created_at = keep(a, row->created_at);
	copy.last_seen_at = keep(a, row->last_seen_at);
	copy.ended_at = keep(a, row->ended_at);
	copy.agent = keep(a, row->agent);
	return copy;
}

struct invitation row_keep_invitation(
    struct arena *a, const struct invitation *row)
{
	struct invitation copy = *row;

	copy.created_at = keep(a, row->created_at);
	copy.expires_at = keep(a, row->expires_at);
	copy.revoked_at = keep(a, row->revoked_at);
	return copy;
}

struct paper_row row_keep_paper(struct arena *a, const struct paper_row *row)
{
	struct paper_row copy = *row;

	copy.name = keep(a, row->name);
	copy.finish = keep(a, row->finish);
	copy.fibre = keep(a, row->fibre);
	copy.colour = keep(a, row->colour);
	copy.compare = keep(a, row->compare);
	return copy;
}

struct stock_row row_keep_stock(struct arena *a, const struct stock_row *row)
{
	struct stock_row copy = *row;

	copy.name = keep(a, row->name);
	copy.spoiled = keep(a, row->spoiled);
	copy.lot = keep(a, row->lot);
	copy.place = keep(a, row->place);
	copy.shelf_code = keep(a, row->shelf_code);
	return copy;
}

struct workshop_row row_keep_workshop(
    struct arena *a, const struct workshop_row *row)
{
	struct workshop_row copy = *row;

	copy.name = keep(a, row->name);
	copy.closes_at = keep(a, row->closes_at);
	copy.closes_local = keep(a, row->closes_local);
	copy.starts_on = keep(a, row->starts_on);
	copy.flat_on = keep(a, row->flat_on);
	copy.papers = keep(a, row->papers);
	return copy;
}

struct request_row row_keep_request(
    struct arena *a, const struct request_row *row)
{
	struct request_row copy = *row;

	copy.across_text = keep(a, row->across_text);
	copy.along_text = keep(a, row->along_text);
	copy.margin_text = keep(a, row->margin_text);
	copy.note = keep(a, row->note);
	copy.created_at = keep(a, row->created_at);
	copy.withdrawn_at = keep(a, row->withdrawn_at);
	copy.member_name = keep(a, row->member_name);
	copy.paper_name = keep(a, row->paper_name);
	return copy;
}

struct plan_row row_keep_plan(struct arena *a, const struct plan_row *row)
{
	struct plan_row copy = *row;

	copy.check_code = keep(a, row->check_code);
	copy.created_at = keep(a, row->created_at);
	copy.accepted_at = keep(a, row->accepted_at);
	return copy;
}

struct job_row row_keep_job(struct arena *a, const struct job_row *row)
{
	struct job_row copy = *row;

	copy.paper_name = keep(a, row->paper_name);
	copy.problem = keep(a, row->problem);
	copy.behind = keep(a, row->behind);
	copy.result = keep(a, row->result);
	copy.reason = keep(a, row->reason);
	return copy;
}

struct invoice_row row_keep_invoice(
    struct arena *a, const struct invoice_row *row)
{
	struct invoice_row copy = *row;

	copy.number = keep(a, row->number);
	copy.supplier = keep(a, row->supplier);
	copy.dated_on = keep(a, row->dated_on);
	copy.currency = keep(a, row->currency);
	copy.note = keep(a, row->note);
	copy.reason = keep(a, row->reason);
	copy.created_at = keep(a, row->created_at);
	return copy;
}

struct invoice_line_row row_keep_line(
    struct arena *a, const struct invoice_line_row *row)
{
	struct invoice_line_row copy = *row;

	copy.description = keep(a, row->description);
	return copy;
}

struct settlement_row row_keep_settlement(
    struct arena *a, const struct settlement_row *row)
{
	struct settlement_row copy = *row;

	copy.currency = keep(a, row->currency);
	copy.parts = keep(a, row->parts);
	copy.policy = keep(a, row->policy);
	copy.derivation = keep(a, row->derivation);
	copy.invoices = keep(a, row->invoices);
	copy.created_at = keep(a, row->created_at);
	return copy;
}

struct entry_row row_keep_entry(struct arena *a, const struct entry_row *row)
{
	struct entry_row copy = *row;

	copy.currency = keep(a, row->currency);
	copy.method = keep(a, row->method);
	copy.bank_reference = keep(a, row->bank_reference);
	copy.payer_name = keep(a, row->payer_name);
	copy.reference = keep(a, row->reference);
	copy.reason = keep(a, row->reason);
	copy.paid_on = keep(a, row->paid_on);
	copy.created_at = keep(a, row->created_at);
	copy.member_name = keep(a, row->member_name);
	return copy;
}

struct balance_row row_keep_balance(
    struct arena *a, const struct balance_row *row)
{
	struct balance_row copy = *row;

	copy.member_name = keep(a, row->member_name);
	return copy;
}

struct spoken_row row_keep_spoken(struct arena *a, const struct spoken_row *row)
{
	struct spoken_row copy = *row;

	copy.paper_name = keep(a, row->paper_name);
	return copy;
}
