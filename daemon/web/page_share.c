/* SPDX-License-Identifier: MIT */
/*
 * page_share.c - what one member owes, and why: the statement as a page.
 */
#include "pages.h"

#include "frame.h"
#include "papers.h"

static void on_statement(struct call *call, const struct statement *s)
{
	struct folio *folio = papers_statement(call, s, true);
	bool own = call->member.member_id == call->caller.member_id;
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){.title = own ? "Your share" : "Statement",
		.workshop = &call->workshop,
		.tab = own ? "/share" : "/money"});
	folio_write(&h, folio);
	html_open(&h, "div", "class", "buttons", NULL);
	frame_button(&h,
	    call_printf(call,
		"/members/%lld/statement/file?form=pdf&workshop=%lld",
		(long long)call->member.member_id,
		(long long)call->workshop.workshop_id),
	    "As PDF", true);
	frame_button(&h,
	    call_printf(call,
		"/members/%lld/statement/file?form=csv&workshop=%lld",
		(long long)call->member.member_id,
		(long long)call->workshop.workshop_id),
	    "Entries as CSV", true);
	html_close(&h, "div");
	folio_delete(folio);
	frame_answer(call, 200, &h);
}

void page_share(struct call *call)
{
	call->member = (struct member){.studio_id = call->caller.studio_id,
	    .member_id = call->caller.member_id,
	    .name = call->caller.name};
	act_own_statement(call, on_statement);
}

/* The same of another member, for the treasurer and for whoever pays for them. */
void page_statement(struct call *call)
{
	static const char *const parts[] = {"workshop", NULL};
	int64_t workshop_id;

	if (act_statement_query(call, parts, &workshop_id))
		act_statement(call, workshop_id, on_statement);
}

/* ---- the treasurer's ---- */

static void on_account(struct call *call, const struct account *a)
{
	static const char *const names[] = {
	    "As PDF", "As text", "Entries as CSV"};
	static const char *const ways[] = {"pdf", "text", "csv"};
	struct folio *folio = papers_account(call, a, true);
	struct html h;

	frame_begin(call, &h,
	    &(struct frame){.title = "Account",
		.workshop = &call->workshop,
		.tab = "/money"});
	folio_write(&h, folio);
	html_open(&h, "div", "class", "buttons", NULL);
	for (size_t i = 0; i < 3; i++)
		frame_button(&h,
		    call_printf(call, "/workshops/%lld/account/file?form=%s",
			(long long)call->workshop.workshop_id, ways[i]),
		    names[i], true);
	html_close(&h, "div");
	folio_delete(folio);
	frame_answer(call, 200, &h);
}

void page_account(struct call *call)
{
	act_account(call, on_account);
}

/* ---- who still owes ---- */

static void on_owing(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct folio *folio = NULL;
	struct html h;

	if (call_failed(call, err))
		return;
	folio = papers_reminders(call, rows, n, true);
	frame_begin(call, &h, &(struct frame){.title = "Who still owes"});
	folio_write(&h, folio);
	html_open(&h, "div", "class", "buttons", NULL);
	frame_button(&h, "/reminders/file?form=pdf", "As PDF", true);
	frame_button(&h, "/reminders/file?form=csv", "As CSV", true);
	html_close(&h, "div");
	folio_delete(folio);
	frame_answer(call, 200, &h);
}

void page_reminders(struct call *call)
{
	store_owing(call->tx, call->caller.studio_id, on_owing, call);
}
