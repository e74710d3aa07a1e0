/* SPDX-License-Identifier: MIT */
/*
 * act_request.c - asking for sheets.
 *
 * The workshop's row is locked shared while a request is written, so that it either was in
 * time for the closing or is refused; many members ask at once.
 */
#include "act_request.h"

#include <string.h>

#include "fits.h"
#include "json_in.h"
#include "measure.h"
#include "rows.h"

#define SIZE_MAX_U (100 * 1000 * MM) /* 100 m: no sheet is longer */
/* One request is at most 2000 m2, so that 20000 of them (what planning takes) still add up in
 * 64 bits. */
#define AREA_MAX (INT64_C(2000) * 1000 * 1000 * MM * MM)

struct asking {
	struct call *call;
	struct ask ask;
	struct request_row row;
	bool change;
	act_request_fn *done;
	call_fn *withdrawn;
};

/* ---- sizes ---- */

bool ask_size(struct call *call, const char *pointer, const char *text,
    bool zero, length *out)
{
	struct err err = {0};
	size_t len = text == NULL ? 0 : strlen(text);

	if (len == 0)
		return call_fault(call, pointer,
		    "Write it with its unit, like 12 1/2 in.",
		    "the size is missing");
	if (len > SIZE_TEXT_MAX)
		return call_fault(call, pointer, "Write it like 12 1/2 in.",
		    "the size \"%s\" is too long", shown(call, text));
	if (zero ? length_parse_or_zero(text, len, out, &err)
		 : length_parse(text, len, out, &err))
		return true;
	return call_fault_err(call, pointer, &err);
}

struct ask ask_of(const struct request_row *r)
{
	return (struct ask){
	    .member_id = r->member_id,
	    .paper_id = r->paper_id,
	    .count = r->count,
	    .across_u = r->across_u,
	    .along_u = r->along_u,
	    .margin_u = r->margin_u,
	    .across_text = r->across_text,
	    .along_text = r->along_text,
	    .margin_text = r->margin_text,
	    .turn = r->turn,
	    .note = r->note,
	};
}

bool ask_torn_size(length finished, length margin, length ruler, length *torn)
{
	*torn = length_snap_up(finished + 2 * margin, ruler);
	return *torn != finished + 2 * margin;
}

static const char *printed(struct call *call, length l)
{
	char text[LENGTH_TEXT_MAX];

	return arena_strdup(
	    call->arena, length_print(text, l,
			     (enum measure_system)call->caller.studio.measure));
}

static void check_size(
    struct call *call, const char *pointer, length l, bool zero)
{
	if (l < 0 || (l == 0 && !zero))
		call_fault(call, pointer, "Ask for a size above zero.",
		    "%s %s is too small", pointer + 1,
		    l == 0 ? "0" : "below zero");
	else if (l > SIZE_MAX_U)
		call_fault(call, pointer, "No sheet is longer than 100 m.",
		    "%s %s is absurd", pointer + 1, printed(call, l));
}

/* ---- checks ---- */

static bool workshop_has_paper(
    const struct workshop_row *workshop, int64_t paper_id)
{
	json_t *papers = json_loads(workshop->papers, 0, NULL), *id = NULL;
	size_t i = 0;
	bool found = false;

	json_array_foreach(papers, i, id)
	{
		found = found || json_integer_value(id) == paper_id;
	}
	json_decref(papers);
	return found;
}

/* Members while the workshop takes requests; to mend what was asked for, an instructor may
 * also between the closing time and the closing itself. */
static bool takes_requests(struct call *call, bool change)
{
	const struct workshop_row *w = &call->workshop;

	if (w->takes_requests ||
	    (change && w->state == WORKSHOP_OPEN && !call->own_only))
		return true;
	call_refuse(call, ERR_CONFLICT, "Ask the instructor to open it again.",
	    w->state == WORKSHOP_OPEN
		? "workshop %lld takes no requests after its closing time, %s"
		: "workshop %lld takes no requests: it is closed (closing time "
		  "%s)",
	    (long long)w->workshop_id, w->closes_at);
	return false;
}

static void check_ask(struct call *call, const struct ask *ask)
{
	int64_t most = call->caller.studio.count_max;

	if (!workshop_has_paper(&call->workshop, ask->paper_id))
		call_fault(call, "/paper_id",
		    call_printf(call, "The papers of this workshop are %s.",
			call->workshop.papers),
		    "paper %lld is not one of this workshop",
		    (long long)ask->paper_id);
	if (ask->count < 1 || ask->count > most)
		call_fault(call, "/count",
		    call_printf(
			call, "Ask for 1 to %lld sheets.", (long long)most),
		    "count %lld is too %s", (long long)ask->count,
		    ask->count < 1 ? "small" : "large");
	check_size(call, "/across", ask->across_u, false);
	check_size(call, "/along", ask->along_u, false);
	check_size(call, "/margin", ask->margin_u, true);
}

static void fill_row(struct asking *a)
{
	struct call *call = a->call;
	const struct ask *ask = &a->ask;
	length ruler = call->caller.studio.ruler_u;
	struct request_row *row = &a->row;

	if (a->change)
		*row = call->request;
	row->studio_id = call->caller.studio_id;
	row->workshop_id = call->workshop.workshop_id;
	row->member_id = ask->member_id;
	row->paper_id = ask->paper_id;
	row->count = ask->count;
	row->across_u = ask->across_u;
	row->along_u = ask->along_u;
	row->margin_u = ask->margin_u;
	ask_torn_size(ask->across_u, ask->margin_u, ruler, &row->torn_across_u);
	ask_torn_size(ask->along_u, ask->margin_u, ruler, &row->torn_along_u);
	row->turn = ask->turn;
	row->across_text = ask->across_text;
	row->along_text = ask->along_text;
	row->margin_text = ask->margin_text;
	row->note = ask->note == NULL ? "" : ask->note;
}

static void check_area(struct asking *a)
{
	const struct request_row *r = &a->row;
	wide total = (wide)r->torn_across_u * r->torn_along_u * r->count;

	if (total > AREA_MAX)
		call_fault(a->call, "/count", "Ask for less at once.",
		    "%lld sheets of this size are more than 2000 m2 of paper",
		    (long long)r->count);
}

/* ---- the stock can give it ---- */

static void write_row(struct asking *a);

static void refuse_size(
    struct asking *a, const struct stock_row *stock, size_t n)
{
	struct call *call = a->call;
	const struct request_row *r = &a->row;
	const struct stock_row *widest = fits_widest(stock, n);

	if (widest == NULL) {
		call_fault(call, "/paper_id",
		    "Tell the instructor, or choose another paper.",
		    "there is no stock of paper %lld", (long long)r->paper_id);
		return;
	}
	call_fault(call,
	    r->torn_across_u > widest->width_u ||
		    r->torn_along_u <= widest->length_u
		? "/across"
		: "/along",
	    call_printf(call,
		"Ask for at most %s across and %s along, margins included%s.",
		printed(call, widest->width_u), printed(call, widest->length_u),
		r->turn ? "" : ", or let it be turned"),
	    "no stock of this paper gives a sheet torn %s x %s: the widest is "
	    "\"%s\", %s x %s",
	    printed(call, r->torn_across_u), printed(call, r->torn_along_u),
	    shown(call, widest->name), printed(call, widest->width_u),
	    printed(call, widest->length_u));
}

static void on_stock(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct asking *a = ctx;
	struct call *call = a->call;
	const struct stock_row *stock = rows;
	const struct request_row *r = &a->row;
	struct fit_rules rules = {
	    .sliver = call->caller.studio.sliver_u,
	    .oversize = call->caller.studio.oversize_u,
	};
	bool fits = false;

	if (call_failed(call, err))
		return;
	for (size_t i = 0; i < n && !fits; i++)
		fits = fits_stock(&stock[i], r->torn_across_u, r->torn_along_u,
		    r->turn, &rules);
	if (!fits)
		refuse_size(a, stock, n);
	if (!call_is_faulty(call))
		write_row(a);
}

static void ask_stock(struct asking *a)
{
	store_stock_usable(a->call->tx, a->call->caller.studio_id,
	    a->row.paper_id, on_stock, a);
}

/* ---- whose ---- */

static void on_member(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct asking *a = ctx;

	(void)rows;
	if (call_failed(a->call, err))
		return;
	if (n == 0)
		call_fault(a->call, "/member_id",
		    "Add them to the workshop first.",
		    "member %lld does not take part in this workshop",
		    (long long)a->row.member_id);
	if (!call_is_faulty(a->call))
		ask_stock(a);
}

/* ---- writing ---- */

static void on_noted(struct call *call)
{
	struct asking *a = call->act;

	a->done(call, &a->row);
}

static void on_row(void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct asking *a = ctx;
	struct call *call = a->call;
	json_t *details = NULL;

	if (call_failed(call, err))
		return;
	if (n == 0) {
		call_refuse(call, ERR_STALE, "Read it again, then change it.",
		    "the request has changed in the meantime");
		return;
	}
	a->row = row_keep_request(call->arena, rows);
	details = json_pack("{s: I, s: I, s: I}", "request_id",
	    (json_int_t)a->row.request_id, "paper_id",
	    (json_int_t)a->row.paper_id, "count", (json_int_t)a->row.count);
	call_event(call, a->change ? "request-changed" : "request-added",
	    a->row.workshop_id, a->row.member_id, details, on_noted);
}

static void write_row(struct asking *a)
{
	if (a->change)
		store_request_change(a->call->tx, &a->row, on_row, a);
	else
		store_request_add(a->call->tx, &a->row, on_row, a);
}

void act_request_add(
    struct call *call, const struct ask *ask, act_request_fn *done)
{
	struct asking *a = call_alloc(call, sizeof(*a));

	call->act = a;
	a->call = call;
	a->ask = *ask;
	a->done = done;
	if (a->ask.member_id == 0)
		a->ask.member_id = call->caller.member_id;
	if (call->own_only && a->ask.member_id != call->caller.member_id) {
		call_refuse(call, ERR_DENIED,
		    "Leave member_id out to ask for yourself.",
		    "you may ask for yourself only");
		return;
	}
	if (!takes_requests(call, false))
		return;
	check_ask(call, &a->ask);
	if (call_is_faulty(call))
		return;
	fill_row(a);
	check_area(a);
	if (call_is_faulty(call))
		return;
	if (call->own_only)
		ask_stock(a);
	else
		store_is_enrolled(call->tx, call->caller.studio_id,
		    call->workshop.workshop_id, a->ask.member_id, on_member, a);
}

void act_request_change(
    struct call *call, const struct ask *ask, act_request_fn *done)
{
	struct asking *a = call_alloc(call, sizeof(*a));

	call->act = a;
	a->call = call;
	a->ask = *ask;
	a->ask.member_id = call->request.member_id;
	a->change = true;
	a->done = done;
	if (!takes_requests(call, true))
		return;
	check_ask(call, &a->ask);
	if (call_is_faulty(call))
		return;
	fill_row(a);
	check_area(a);
	if (!call_is_faulty(call))
		ask_stock(a);
}

/* ---- withdrawing ---- */

static void on_withdraw_noted(struct call *call)
{
	struct asking *a = call->act;

	a->withdrawn(call);
}

static void on_withdrawn(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct asking *a = ctx;
	struct call *call = a->call;

	(void)rows;
	if (call_failed(call, err))
		return;
	if (n == 0) {
		call_refuse(call, ERR_STALE, "Read it again, then withdraw it.",
		    "the request has changed in the meantime");
		return;
	}
	call_event(call, "request-withdrawn", call->request.workshop_id,
	    call->request.member_id,
	    json_pack(
		"{s: I}", "request_id", (json_int_t)call->request.request_id),
	    on_withdraw_noted);
}

void act_request_withdraw(struct call *call, call_fn *done)
{
	struct asking *a = call_alloc(call, sizeof(*a));

	call->act = a;
	a->call = call;
	a->withdrawn = done;
	if (!takes_requests(call, true))
		return;
	store_request_withdraw(call->tx, call->caller.studio_id,
	    call->request.request_id, call->request.version, on_withdrawn, a);
}
