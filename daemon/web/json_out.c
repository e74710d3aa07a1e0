/* SPDX-License-Identifier: MIT */
/*
 * json_out.c - rows as JSON.
 */
#include "json_out.h"

#include <string.h>

#include "act_people.h"
#include "act_shelf.h"
#include "derive.h"
#include "measure.h"

const char *const full_names_words[] = {"none", "adults", "all", NULL};
const char *const pull_words[] = {"near", "far", NULL};
const char *const sheet_page_words[] = {"a4", "letter", NULL};
static const char *const measure_names[] = {"in", "mm", "cm"};

static void put(json_t *object, const char *name, json_t *value)
{
	json_object_set_new(object, name, value);
}

static enum measure_system measure_of(const struct call *call)
{
	return (enum measure_system)call->caller.studio.measure;
}

json_t *json_length(const struct call *call, length u)
{
	char text[LENGTH_TEXT_MAX];
	json_t *o = json_object();

	put(o, "u", json_integer(u));
	put(o, "text", json_string(length_print(text, u, measure_of(call))));
	return o;
}

json_t *json_id(int64_t id)
{
	return id == 0 ? json_null() : json_integer(id);
}

json_t *json_text(const char *text)
{
	return text == NULL ? json_null() : json_string(text);
}

json_t *json_parsed(const char *text)
{
	json_t *value =
	    text == NULL ? NULL : json_loads(text, JSON_DECODE_ANY, NULL);

	return value == NULL ? json_null() : value;
}

json_t *json_roles(int64_t roles)
{
	json_t *list = json_array();

	for (unsigned role = ROLE_STUDENT; role <= ROLE_OWNER; role <<= 1)
		if ((roles & role) != 0)
			json_array_append_new(
			    list, json_string(role_name(role)));
	return list;
}

json_t *json_studio(const struct call *call, const struct studio *studio)
{
	json_t *o = json_object();

	put(o, "id", json_integer(studio->studio_id));
	put(o, "name", json_text(studio->name));
	put(o, "currency", json_text(studio->currency));
	put(o, "time_zone", json_text(studio->time_zone));
	put(o, "measure", json_string(measure_names[studio->measure]));
	put(o, "ruler", json_length(call, studio->ruler_u));
	put(o, "sliver", json_length(call, studio->sliver_u));
	put(o, "oversize", json_length(call, studio->oversize_u));
	put(o, "stages", json_integer(studio->stages));
	put(o, "straightedge", json_length(call, studio->straightedge_u));
	put(o, "table", json_length(call, studio->table_u));
	put(o, "keep", json_length(call, studio->keep_u));
	put(o, "side_up", json_text(studio->side_up));
	put(o, "flattening_days", json_integer(studio->flattening_days));
	put(o, "count_max", json_integer(studio->count_max));
	put(o, "names_on_sheets", json_boolean(studio->names_on_sheets));
	put(o, "share_policy",
	    json_text(
		share_policy_name((enum share_policy)studio->share_policy)));
	put(o, "share_ceiling", json_boolean(studio->share_ceiling));
	put(o, "shipping_each", json_boolean(studio->shipping_each));
	put(o, "full_names", json_string(full_names_words[studio->full_names]));
	put(o, "language", json_text(studio->language));
	put(o, "both_measures", json_boolean(studio->both_measures));
	put(o, "pull", json_string(pull_words[studio->pull]));
	put(o, "rules", json_text(studio->rules));
	put(o, "sheet_page", json_string(sheet_page_words[studio->sheet_page]));
	put(o, "label_grid", json_text(studio->label_grid));
	put(o, "payee_name", json_text(studio->payee_name));
	put(o, "payee_account", json_text(studio->payee_account));
	put(o, "pay_within_days", json_integer(studio->pay_within_days));
	put(o, "locale", json_text(studio->locale));
	put(o, "forget_days", json_integer(studio->forget_days));
	put(o, "version", json_integer(studio->version));
	return o;
}

json_t *json_member(const struct call *call, const struct member *member)
{
	json_t *o = json_object();

	put(o, "id", json_integer(member->member_id));
	put(o, "name", json_text(member->name));
	if (call_has_role(call, ROLE_OWNER) ||
	    call->caller.member_id == member->member_id)
		put(o, "contact", json_text(member->contact));
	put(o, "roles", json_roles(member->roles));
	put(o, "guardian", json_boolean(member->guardian));
	if (call_has_role(call, ROLE_OWNER | ROLE_TREASURER) ||
	    member->member_id == call->caller.member_id ||
	    member->payer_id == call->caller.member_id)
		put(o, "payer_id", json_id(member->payer_id));
	put(o, "active", json_boolean(member->active));
	put(o, "created_at", json_text(member->created_at));
	put(o, "version", json_integer(member->version));
	return o;
}

json_t *json_key(const struct key *key)
{
	json_t *o = json_object();

	put(o, "id", json_integer(key->key_id));
	put(o, "member_id", json_integer(key->member_id));
	put(o, "name", json_text(key->name));
	put(o, "created_at", json_text(key->created_at));
	put(o, "expires_at", json_text(key->expires_at));
	put(o, "last_used_at", json_text(key->last_used_at));
	put(o, "revoked_at", json_text(key->revoked_at));
	return o;
}

json_t *json_event(const struct event_row *event)
{
	json_t *o = json_object();

	put(o, "id", json_integer(event->event_id));
	put(o, "at", json_text(event->at));
	put(o, "kind", json_text(event->kind));
	put(o, "workshop_id", json_id(event->workshop_id));
	put(o, "member_id", json_id(event->member_id));
	put(o, "by", json_id(event->by_member));
	put(o, "details", json_parsed(event->details));
	return o;
}

json_t *json_paper(const struct paper_row *paper)
{
	json_t *o = json_object();

	put(o, "id", json_integer(paper->paper_id));
	put(o, "name", json_text(paper->name));
	put(o, "weight_gsm", json_integer(paper->weight_gsm));
	put(o, "finish", json_text(paper->finish));
	put(o, "fibre", json_text(paper->fibre));
	put(o, "colour", json_text(paper->colour));
	put(o, "active", json_boolean(paper->active));
	put(o, "compare", json_parsed(paper->compare));
	put(o, "version", json_integer(paper->version));
	return o;
}

static json_t *spoiled_json(const struct call *call, const char *spoiled)
{
	json_t *kept = json_parsed(spoiled), *list = json_array(), *run = NULL;
	size_t i = 0;

	json_array_foreach(kept, i, run)
	{
		json_array_append_new(list,
		    json_pack("[o, o]",
			json_length(
			    call, json_integer_value(json_array_get(run, 0))),
			json_length(
			    call, json_integer_value(json_array_get(run, 1)))));
	}
	json_decref(kept);
	return list;
}

json_t *json_stock(const struct call *call, const struct stock_row *stock)
{
	json_t *o = json_object();

	put(o, "id", json_integer(stock->stock_id));
	put(o, "paper_id", json_integer(stock->paper_id));
	put(o, "kind", json_text(stock_kind_name(stock->kind)));
	put(o, "name", json_text(stock->name));
	put(o, "width", json_length(call, stock->width_u));
	put(o, "length", json_length(call, stock->length_u));
	if (call_has_role(
		call, ROLE_INSTRUCTOR | ROLE_TREASURER | ROLE_OWNER)) {
		put(o, "price_minor", json_integer(stock->price_minor));
		put(o, "currency", json_text(call->caller.studio.currency));
	}
	put(o, "available",
	    stock->available == UNLIMITED ? json_null()
					  : json_integer(stock->available));
	put(o, "spoiled", spoiled_json(call, stock->spoiled));
	put(o, "lot", json_text(stock->lot));
	put(o, "place", json_text(stock->place));
	put(o, "from_plan_id", json_id(stock->from_plan_id));
	put(o, "shelf_code", json_text(stock->shelf_code));
	put(o, "active", json_boolean(stock->active));
	put(o, "version", json_integer(stock->version));
	return o;
}

json_t *json_workshop(const struct workshop_row *workshop)
{
	json_t *o = json_object();

	put(o, "id", json_integer(workshop->workshop_id));
	put(o, "name", json_text(workshop->name));
	put(o, "closes_at", json_text(workshop->closes_at));
	put(o, "starts_on", json_text(workshop->starts_on));
	put(o, "days", json_integer(workshop->days));
	put(o, "flat_on", json_text(workshop->flat_on));
	put(o, "state", json_text(workshop_state_name(workshop->state)));
	put(o, "takes_requests", json_boolean(workshop->takes_requests));
	put(o, "stages", json_integer(workshop->stages));
	put(o, "papers", json_parsed(workshop->papers));
	put(o, "share_policy",
	    json_text(
		share_policy_name((enum share_policy)workshop->share_policy)));
	put(o, "share_ceiling", json_boolean(workshop->share_ceiling));
	put(o, "shipping_each", json_boolean(workshop->shipping_each));
	put(o, "accepted_plan_id", json_id(workshop->accepted_plan_id));
	put(o, "version", json_integer(workshop->version));
	return o;
}

json_t *json_invitation(const struct invitation *invitation)
{
	json_t *o = json_object();

	put(o, "id", json_integer(invitation->invitation_id));
	put(o, "workshop_id", json_integer(invitation->workshop_id));
	put(o, "created_at", json_text(invitation->created_at));
	put(o, "expires_at", json_text(invitation->expires_at));
	put(o, "revoked_at", json_text(invitation->revoked_at));
	put(o, "uses", json_integer(invitation->uses));
	put(o, "uses_max", json_integer(invitation->uses_max));
	put(o, "good", json_boolean(invitation->good));
	return o;
}

json_t *json_spoken(const struct call *call, const struct spoken *spoken)
{
	json_t *o = json_object();

	put(o, "paper_id", json_integer(spoken->row.paper_id));
	put(o, "paper", json_text(spoken->row.paper_name));
	put(o, "members", json_integer(spoken->row.members));
	put(o, "sheets", json_integer(spoken->row.sheets));
	put(o, "area_uu", json_integer(spoken->row.area_uu));
	put(o, "widest",
	    spoken->widest == 0 ? json_null()
				: json_length(call, spoken->widest));
	put(o, "roll_tenths",
	    spoken->roll_tenths < 0 ? json_null()
				    : json_integer(spoken->roll_tenths));
	return o;
}

static json_t *size_json(const struct call *call, length across, length along)
{
	return json_pack("{s: o, s: o}", "across", json_length(call, across),
	    "along", json_length(call, along));
}

json_t *json_request(const struct call *call, const struct request_row *r)
{
	bool snapped = r->torn_across_u != r->across_u + 2 * r->margin_u ||
		       r->torn_along_u != r->along_u + 2 * r->margin_u;
	json_t *o = json_object();

	put(o, "id", json_integer(r->request_id));
	put(o, "workshop_id", json_integer(r->workshop_id));
	put(o, "member_id", json_integer(r->member_id));
	put(o, "member", json_text(r->member_name));
	put(o, "paper_id", json_integer(r->paper_id));
	put(o, "paper", json_text(r->paper_name));
	put(o, "count", json_integer(r->count));
	put(o, "finished", size_json(call, r->across_u, r->along_u));
	put(o, "margin", json_length(call, r->margin_u));
	put(o, "torn", size_json(call, r->torn_across_u, r->torn_along_u));
	put(o, "snapped", json_boolean(snapped));
	put(o, "turn", json_boolean(r->turn));
	put(o, "note", json_text(r->note));
	put(o, "created_at", json_text(r->created_at));
	put(o, "version", json_integer(r->version));
	return o;
}

/* ---- plans ---- */

static json_t *progress_json(const struct call *call, int64_t rolls,
    int64_t price_minor, int64_t length_u)
{
	if (rolls < 0)
		return json_null();
	return json_pack("{s: I, s: o, s: o}", "fresh_rolls", (json_int_t)rolls,
	    "price_minor",
	    price_minor < 0 ? json_null() : json_integer(price_minor),
	    "strip_length",
	    length_u < 0 ? json_null() : json_length(call, length_u));
}

static json_t *job_json(const struct call *call, const struct job_row *job)
{
	json_t *o = json_object();

	put(o, "id", json_integer(job->job_id));
	put(o, "paper_id", json_integer(job->paper_id));
	put(o, "paper", json_text(job->paper_name));
	put(o, "state", json_text(job_state_name(job->state)));
	put(o, "attempt", json_integer(job->attempt));
	put(o, "reason", json_text(job->reason));
	put(o, "best",
	    progress_json(call, job->best_rolls, job->best_price_minor,
		job->best_length_u));
	put(o, "bound",
	    progress_json(call, job->bound_rolls, job->bound_price_minor,
		job->bound_length_u));
	put(o, "steps", json_integer(job->steps));
	return o;
}

static json_t *totals_json(const struct call *call, const struct totals *t)
{
	return json_pack("{s: I, s: I, s: o, s: I, s: I}", "fresh_rolls",
	    (json_int_t)t->fresh_rolls, "price_minor", (json_int_t)t->price,
	    "strip_length", json_length(call, t->strip_length), "tears",
	    (json_int_t)t->tears, "unplaced", (json_int_t)t->unplaced);
}

json_t *json_plan(const struct call *call, const struct plan_view *plan)
{
	const struct plan_row *row = &plan->row;
	json_t *o = json_object(), *jobs = json_array();

	for (size_t i = 0; i < plan->n_jobs; i++)
		json_array_append_new(jobs, job_json(call, &plan->jobs[i]));
	put(o, "id", json_integer(row->plan_id));
	put(o, "workshop_id", json_integer(row->workshop_id));
	put(o, "number", json_integer(row->number));
	put(o, "state", json_text(plan_state_name(row->state)));
	put(o, "check_code", json_text(row->check_code));
	put(o, "created_at", json_text(row->created_at));
	put(o, "accepted_at", json_text(row->accepted_at));
	put(o, "jobs", jobs);
	put(o, "totals",
	    plan->has_totals ? totals_json(call, &plan->totals) : json_null());
	put(o, "proven",
	    plan->has_totals
		? json_pack("{s: b, s: b, s: b}", "fresh_rolls",
		      plan->proven.fresh_rolls, "price", plan->proven.price,
		      "strip_length", plan->proven.strip_length)
		: json_null());
	put(o, "currency", json_text(call->caller.studio.currency));
	put(o, "version", json_integer(row->version));
	return o;
}

/* ---- money ---- */

json_t *json_share_row(const struct share_row *row)
{
	json_t *o = json_object(), *parts = json_array();

	for (size_t i = 0; i < row->n_parts; i++)
		json_array_append_new(
		    parts, json_pack("{s: I, s: I, s: I}", "paper_id",
			       (json_int_t)row->parts[i].paper_id, "area_uu",
			       (json_int_t)row->parts[i].area_uu, "share_minor",
			       (json_int_t)row->parts[i].share_minor));
	put(o, "member_id", json_integer(row->member_id));
	put(o, "member", json_text(row->member_name));
	put(o, "sheets", json_integer(row->sheets));
	put(o, "share_minor", json_integer(row->share_minor));
	put(o, "charged_minor", json_integer(row->charged_minor));
	put(o, "paid_minor", json_integer(row->paid_minor));
	put(o, "balance_minor",
	    json_integer(row->charged_minor - row->paid_minor));
	put(o, "other_minor", json_integer(row->other_minor));
	put(o, "parts", parts);
	return o;
}

json_t *json_share_paper(const struct share_paper *paper)
{
	return json_pack("{s: I, s: o, s: I, s: o, s: I, s: I}", "paper_id",
	    (json_int_t)paper->paper_id, "paper", json_text(paper->paper_name),
	    "cost_minor", (json_int_t)paper->cost_minor, "invoice_minor",
	    paper->invoiced ? json_integer(paper->invoice_minor) : json_null(),
	    "shared_minor", (json_int_t)paper->shared_minor, "area_uu",
	    (json_int_t)paper->area_uu);
}

json_t *json_shares(
    const struct call *call, const struct shares *shares, int64_t only_member)
{
	json_t *o = json_object(), *papers = json_array(),
	       *items = json_array();

	for (size_t i = 0; i < shares->n_papers; i++)
		json_array_append_new(
		    papers, json_share_paper(&shares->papers[i]));
	for (size_t i = 0; i < shares->n_items; i++)
		if (only_member == 0 ||
		    shares->items[i].member_id == only_member)
			json_array_append_new(
			    items, json_share_row(&shares->items[i]));
	put(o, "workshop_id", json_integer(call->workshop.workshop_id));
	put(o, "plan_id", json_integer(shares->plan_id));
	put(o, "currency", json_text(call->caller.studio.currency));
	put(o, "cost_minor", json_integer(shares->cost_minor));
	put(o, "invoice_minor",
	    shares->invoiced ? json_integer(shares->invoice_minor)
			     : json_null());
	put(o, "estimated_minor", json_integer(shares->estimated_minor));
	put(o, "used_minor", json_integer(shares->used_minor));
	put(o, "kept_minor", json_integer(shares->kept_minor));
	put(o, "policy",
	    json_text(share_policy_name(shares->result->rules.policy)));
	put(o, "ceiling",
	    json_text(ceiling_state_name(shares->result->ceiling)));
	put(o, "sum_minor", json_integer(shares->sum_minor));
	put(o, "papers", papers);
	put(o, "items", items);
	return o;
}

json_t *json_settlement(const struct settlement_row *s)
{
	json_t *o = json_object();

	put(o, "id", json_integer(s->settlement_id));
	put(o, "number", json_integer(s->number));
	put(o, "workshop_id", json_integer(s->workshop_id));
	put(o, "plan_id", json_integer(s->plan_id));
	put(o, "currency", json_text(s->currency));
	put(o, "invoice_minor", json_integer(s->invoice_minor));
	put(o, "charged_minor", json_integer(s->charged_minor));
	put(o, "estimated_minor", json_integer(s->estimated_minor));
	put(o, "used_minor", json_integer(s->used_minor));
	put(o, "kept_minor", json_integer(s->kept_minor));
	put(o, "parts", json_parsed(s->parts));
	put(o, "invoices", json_parsed(s->invoices));
	put(o, "created_at", json_text(s->created_at));
	put(o, "created_by", json_integer(s->created_by));
	return o;
}

json_t *json_entry(const struct call *call, const struct entry_row *e)
{
	json_t *o = json_object();

	(void)call;
	put(o, "id", json_integer(e->entry_id));
	put(o, "booking_id", json_integer(e->booking_id));
	put(o, "workshop_id", json_integer(e->workshop_id));
	put(o, "member_id", json_integer(e->member_id));
	put(o, "member", json_text(e->member_name));
	put(o, "kind", json_string(booking_kind_name(e->kind)));
	put(o, "amount_minor", json_integer(e->amount_minor));
	put(o, "currency", json_text(e->currency));
	put(o, "settlement_id", json_id(e->settlement_id));
	put(o, "reverses_id", json_id(e->reverses_id));
	put(o, "reversed_by_id", json_id(e->reversed_by_id));
	put(o, "payer_id", json_id(e->payer_id));
	put(o, "payee_id", json_id(e->payee_id));
	put(o, "account_member_id", json_integer(e->account_member_id));
	put(o, "method", json_text(e->method));
	put(o, "reference", json_text(e->reference));
	put(o, "bank_reference", json_text(e->bank_reference));
	put(o, "reason", json_text(e->reason));
	put(o, "paid_on", json_text(e->paid_on));
	put(o, "created_at", json_text(e->created_at));
	put(o, "created_by", json_integer(e->created_by));
	return o;
}

/* ---- lists ---- */

void json_list_begin(struct json_list *list, struct page page)
{
	*list = (struct json_list){.items = json_array(), .page = page};
}

void json_list_add(struct json_list *list, int64_t id, json_t *item)
{
	if (json_array_size(list->items) >= (size_t)list->page.limit) {
		list->more = true;
		json_decref(item);
		return;
	}
	list->last = id;
	json_array_append_new(list->items, item);
}

json_t *json_list_end(struct json_list *list)
{
	return json_pack("{s: O, s: o}", "items", list->items, "next",
	    list->more ? json_integer(list->last) : json_null());
}
