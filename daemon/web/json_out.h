/* SPDX-License-Identifier: MIT */
/*
 * Rows as the JSON of docs/protocol.md.  Lengths are written in the studio's measure, money as
 * whole minor units with the studio's currency; what a role may not see is left out.  Each
 * returns a new object.
 */
#ifndef WEB_JSON_OUT_H
#define WEB_JSON_OUT_H

#include "act_money.h"
#include "act_plan.h"
#include "act_workshop.h"
#include "call.h"
#include "journal.h"

/* The words of studio.full_names, .pull and .sheet_page; NULL ends each. */
extern const char *const full_names_words[], *const pull_words[],
						 *const sheet_page_words[];

json_t *json_length(const struct call *call, length u);
json_t *json_id(int64_t id);         /* 0: null */
json_t *json_text(const char *text); /* NULL: null */
json_t *json_parsed(
    const char *text); /* what the store keeps as JSON; broken: null */

json_t *json_studio(const struct call *call, const struct studio *studio);
json_t *json_roles(int64_t roles);
json_t *json_member(const struct call *call, const struct member *member);
json_t *json_key(const struct key *key);
json_t *json_event(const struct event_row *event);
json_t *json_paper(const struct paper_row *paper);
json_t *json_stock(const struct call *call, const struct stock_row *stock);
json_t *json_workshop(const struct workshop_row *workshop);
json_t *json_invitation(const struct invitation *invitation);
json_t *json_spoken(const struct call *call, const struct spoken *spoken);
json_t *json_request(
    const struct call *call, const struct request_row *request);
json_t *json_plan(const struct call *call, const struct plan_view *plan);
json_t *json_shares(
    const struct call *call, const struct shares *shares, int64_t only_member);
json_t *json_share_row(const struct share_row *row);
json_t *json_share_paper(const struct share_paper *paper);
json_t *json_settlement(const struct settlement_row *settlement);
json_t *json_entry(const struct call *call, const struct entry_row *entry);

/* A page of a list: collect rows as items, cut at the limit, say what comes next. */
struct json_list {
	json_t *items;
	struct page page;
	int64_t last; /* id of the last item taken */
	bool more;
};
void json_list_begin(struct json_list *list, struct page page);
/* Takes item; what is beyond the page's limit is dropped and remembered as "more". */
void json_list_add(struct json_list *list, int64_t id, json_t *item);
/* {"items": [...], "next": ID or null}; items stays the caller's to json_decref(). */
json_t *json_list_end(struct json_list *list);

#endif
