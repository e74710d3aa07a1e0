/* SPDX-License-Identifier: MIT */
/*
 * Lists of the API: read ?limit and ?after, ask for one row more than the page, write the rows.
 *
 * A list that knows other parts of the query reads them first and names them in `known`, which
 * must hold "limit" and "after".
 */
#ifndef WEB_API_LIST_H
#define WEB_API_LIST_H

#include "call.h"
#include "json_out.h"

#define LIST_KNOWN ((const char *const[]){"limit", "after", NULL})

struct api_list {
	struct json_list list;
	struct page ask; /* limit + 1 */
};

/* Into call->state; NULL when the call has ended with a fault. */
struct api_list *api_list_begin(struct call *call, const char *const *known);
/* Answer with the items. */
void api_list_end(struct call *call);

/* For questions that bring struct member: puts each into the list and ends it (api_people.c). */
void api_list_on_members(
    void *ctx, const void *rows, size_t n, const struct err *err);

#endif
