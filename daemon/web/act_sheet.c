/* SPDX-License-Identifier: MIT */
/*
 * act_sheet.c - what the prints need, gathered from many rows.
 *
 * A print lies on a table: it holds first names or codes, as the studio chose, and never an
 * amount or a contact.
 */
#include "act_plan.h"

#include <string.h>

#include "layout.h"
#include "rows.h"
#include "when.h"

#define MEMBERS_MAX 100000

struct gathering {
	struct call *call;
	const struct layout *layouts;
	size_t n_layouts, at;
	struct sheet_input *input;
	struct sheet_paper *papers;
	struct sheet_member *members;
	int64_t *member_ids;
	size_t n_members;
	act_sheet_fn *done;
};

/* ---- the stock behind each paper ---- */

static void next_paper(struct gathering *g);

static const char *keep(struct call *call, const char *text)
{
	return text == NULL ? NULL : arena_strdup(call->arena, text);
}

static void on_stocks(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct gathering *g = ctx;
	struct call *call = g->call;
	const struct layout *l = &g->layouts[g->at];
	const struct stock_row *stock = rows;
	struct sheet_stock *list = NULL;

	if (call_failed(call, err))
		return;
	list = arena_array(call->arena, l->problem->n_stock + 1, sizeof(*list));
	for (size_t i = 0; i < l->problem->n_stock; i++) {
		for (size_t k = 0; k < n; k++) {
			if (stock[k].stock_id != l->stock[i])
				continue;
			list[i].lot = keep(call, stock[k].lot);
			list[i].place = keep(call, stock[k].place);
		}
	}
	g->papers[g->at].stock = list;
	g->at++;
	next_paper(g);
}

static void on_paper(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct gathering *g = ctx;
	struct call *call = g->call;
	const struct paper_row *paper = rows;
	struct page all = {.after = 0, .limit = PROBLEM_STOCK_MAX * 10};

	if (call_failed(call, err))
		return;
	if (n > 0)
		g->papers[g->at].grams = paper->weight_gsm;
	store_stocks(call->tx, call->caller.studio_id,
	    g->layouts[g->at].job->paper_id, all, on_stocks, g);
}

static void next_paper(struct gathering *g)
{
	struct call *call = g->call;

	if (g->at < g->n_layouts)
		store_paper(call->tx, call->caller.studio_id,
		    g->layouts[g->at].job->paper_id, on_paper, g);
	else
		g->done(call, g->input, g->member_ids);
}

/* ---- members and requests ---- */

static size_t member_index(const struct gathering *g, int64_t member_id)
{
	for (size_t i = 0; i < g->n_members; i++)
		if (g->member_ids[i] == member_id)
			return i;
	return 0;
}

static bool has_pieces(const struct gathering *g, int64_t member_id)
{
	for (size_t i = 0; i < g->n_layouts; i++)
		for (size_t k = 0; k < g->layouts[i].problem->n_pieces; k++)
			if (g->layouts[i].members[k] == member_id)
				return true;
	return false;
}

/* A child's name is printed in full only where the studio says so. */
static const char *name_on_sheet(struct call *call, const struct member *member)
{
	const struct studio *s = &call->caller.studio;
	bool full = s->full_names == FULL_NAMES_ALL ||
		    (s->full_names == FULL_NAMES_ADULTS && !member->guardian);

	if (!s->names_on_sheets)
		return NULL;
	return arena_strndup(call->arena, member->name,
	    full ? strlen(member->name) : strcspn(member->name, " "));
}

/* Finished sizes of requests that are still there; torn sizes stand in the problem. */
static void on_requests(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct gathering *g = ctx;
	struct call *call = g->call;
	const struct request_row *requests = rows;

	if (call_failed(call, err))
		return;
	for (size_t i = 0; i < g->n_layouts; i++) {
		const struct layout *l = &g->layouts[i];
		struct sheet_request *list = arena_array(
		    call->arena, l->problem->n_pieces + 1, sizeof(*list));
		size_t at = 0;

		for (size_t k = 0; k < l->problem->n_pieces; k++) {
			list[k].member = member_index(g, l->members[k]);
			while (
			    at < n && requests[at].request_id < l->requests[k])
				at++;
			if (at == n ||
			    requests[at].request_id != l->requests[k])
				continue;
			list[k].finished_across = requests[at].across_u;
			list[k].finished_along = requests[at].along_u;
		}
		g->papers[i].requests = list;
	}
	g->at = 0;
	next_paper(g);
}

static void on_members(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct gathering *g = ctx;
	struct call *call = g->call;
	const struct member *members = rows;

	if (call_failed(call, err))
		return;
	g->members = arena_array(call->arena, n + 1, sizeof(*g->members));
	g->member_ids = arena_array(call->arena, n + 1, sizeof(*g->member_ids));
	for (size_t i = 0; i < n; i++) {
		if (!has_pieces(g, members[i].member_id))
			continue;
		g->member_ids[g->n_members] = members[i].member_id;
		g->members[g->n_members].name =
		    name_on_sheet(call, &members[i]);
		g->n_members++;
	}
	g->input->members = g->members;
	g->input->n_members = g->n_members;
	store_requests_all(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, on_requests, g);
}

/* ---- the input ---- */

static const char *day(
    struct call *call, const char *language, const char *text, int64_t shift)
{
	char out[DAY_TEXT], said[SHEET_DAY_MAX];

	if (text == NULL)
		return NULL;
	return arena_strdup(call->arena,
	    sheet_day(said, language, day_print(text, (int)shift, out)));
}

static const char *closing(struct call *call, const char *language)
{
	char said[SHEET_DAY_MAX];

	return call_printf(call, "%s (%s)",
	    sheet_day(said, language, call->workshop.closes_local),
	    call->caller.studio.time_zone);
}

/* What went back on the shelf is found by its code, when it was torn. */
static const char *shelf_url(struct call *call)
{
	return call_printf(call, "%s/shelf/", call_origin(call));
}

struct sheet_wish sheet_wish(const struct call *call)
{
	const struct studio *s = &call->caller.studio;

	return (struct sheet_wish){
	    .page = (enum sheet_page)s->sheet_page, .language = s->language};
}

static void fill_input(struct gathering *g, const struct sheet_wish *wish)
{
	struct call *call = g->call;
	const struct studio *s = &call->caller.studio;
	const struct workshop_row *w = &call->workshop;
	const char *flat_on = w->flat_on == NULL ? w->starts_on : w->flat_on;
	struct sheet_input *input = call_alloc(call, sizeof(*input));

	*input = (struct sheet_input){
	    .studio = s->name,
	    .workshop = w->name,
	    .number = call->plan.number,
	    .check =
		call->plan.check_code[0] == '\0' ? NULL : call->plan.check_code,
	    .superseded = call->plan.state == PLAN_SUPERSEDED,
	    .closing = closing(call, wish->language),
	    .tear_on = day(call, wish->language, flat_on, -s->flattening_days),
	    .flat_on = day(call, wish->language, flat_on, 0),
	    /* what is torn on the day is flat on the day it must be */
	    .open_on = s->flattening_days > 0
			   ? day(call, wish->language, flat_on, 0)
			   : NULL,
	    .flattening_days = (int)s->flattening_days,
	    .made = call->plan.accepted_at == NULL ? call->plan.created_at
						   : call->plan.accepted_at,
	    .system = (enum measure_system)s->measure,
	    .step = s->ruler_u,
	    .both = s->both_measures,
	    .pull = (enum sheet_pull)s->pull,
	    .straightedge = s->straightedge_u,
	    .table = s->table_u,
	    .keep = s->keep_u,
	    .side_up = s->side_up,
	    .rules = s->rules,
	    .shelf_url = shelf_url(call),
	    .page = wish->page,
	    .large = wish->large,
	    .language = wish->language,
	};
	g->input = input;
}

static void on_layouts(void *ctx, const struct layout *layouts, size_t n)
{
	struct gathering *g = ctx;
	struct call *call = g->call;
	struct page all = {.after = 0, .limit = MEMBERS_MAX};

	g->layouts = layouts;
	g->n_layouts = n;
	g->papers = arena_array(call->arena, n + 1, sizeof(*g->papers));
	for (size_t i = 0; i < n; i++) {
		g->papers[i].name = layouts[i].job->paper_name;
		g->papers[i].problem = layouts[i].problem;
		g->papers[i].plan = layouts[i].plan;
	}
	g->input->papers = g->papers;
	g->input->n_papers = n;
	store_enrolled(call->tx, call->caller.studio_id,
	    call->workshop.workshop_id, all, on_members, g);
}

void act_plan_sheet(
    struct call *call, const struct sheet_wish *wish, act_sheet_fn *done)
{
	struct gathering *g = call_alloc(call, sizeof(*g));

	g->call = call;
	g->done = done;
	fill_input(g, wish);
	layout_load(call, &call->plan, 0, on_layouts, g);
}
