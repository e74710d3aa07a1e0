/* SPDX-License-Identifier: MIT */
/*
 * api_list.c - pages of lists.
 */
#include "api_list.h"

#include "call_inner.h"

static void free_items(void *items)
{
	json_decref(items);
}

struct api_list *api_list_begin(struct call *call, const char *const *known)
{
	struct api_list *l = call_alloc(call, sizeof(*l));
	struct page page;

	call->state = l;
	call_query_only(call, known);
	page = call_query_page(call);
	if (call_is_faulty(call))
		return NULL;
	json_list_begin(&l->list, page);
	call_on_free(call, free_items, l->list.items);
	l->ask = (struct page){.after = page.after, .limit = page.limit + 1};
	return l;
}

void api_list_end(struct call *call)
{
	struct api_list *l = call->state;

	call_answer_json(call, 200, json_list_end(&l->list));
}
