/* SPDX-License-Identifier: MIT */
/*
 * shares, settle, settlements: who owes what.
 *
 * The sum of the shares is added up here again and shown beside the invoice: a treasurer
 * who sees both equal needs to believe nobody.
 */
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "body.h"
#include "cli_columns.h"
#include "command.h"
#include "find.h"
#include "reach.h"
#include "status.h"

/* "a + b" that cannot overflow silently: false when it does not fit. */
static bool add_up(const json_t *items, const char *path, int64_t *sum)
{
	size_t i;
	const json_t *one;
	*sum = 0;
	json_array_foreach(
	    items, i, one) if (__builtin_add_overflow(*sum,
				   reach_int(one, path), sum)) return false;
	return true;
}

static json_t *sum_row(const json_t *items)
{
	static const char *const paths[] = {"sheets", "share_minor",
	    "charged_minor", "paid_minor", "balance_minor"};
	json_t *row = json_pack("{s:s}", "member", "all together");
	int64_t sum;
	for (size_t i = 0; i < sizeof(paths) / sizeof(*paths); i++)
		if (add_up(items, paths[i], &sum))
			json_object_set_new(row, paths[i], json_integer(sum));
	return row;
}

static void tell_invoice(struct call *call, const json_t *shares, int64_t sum)
{
	char a[MONEY_TEXT_MAX], b[MONEY_TEXT_MAX];
	const char *currency = reach_text(shares, "currency");
	bool invoiced = json_is_integer(reach(shares, "invoice_minor"));
	int64_t cost =
	    reach_int(shares, invoiced ? "invoice_minor" : "cost_minor");
	fprintf(call->pen.out, "\n%s %s; the shares add up to %s%s\n",
	    invoiced ? "Invoice" : "Price of the plan",
	    money_print(a, cost, currency), money_print(b, sum, currency),
	    sum == cost ? "." : ": THEY DO NOT AGREE.");
}

/* The member's own row has no sum to show; a list of several has. */
static void show_shares(struct call *call, json_t *shares)
{
	const json_t *items = json_object_get(shares, "items");
	int64_t sum;
	if (call->pen.style != STYLE_PEOPLE || json_array_size(items) == 0) {
		call_show_list(call, shares, "There is nothing to share yet.");
		return;
	}
	json_t *shown = json_copy(shares);
	json_t *rows = json_copy((json_t *)items);
	if (json_array_size(items) > 1)
		json_array_append_new(rows, sum_row(items));
	json_object_set_new(shown, "items", rows);
	call_show_as(call, columns_share, shown);
	if (json_array_size(items) > 1 && add_up(items, "share_minor", &sum))
		tell_invoice(call, shares, sum);
	json_decref(shown);
}

bool cmd_shares(struct call *call, struct err *err)
{
	int64_t workshop;
	json_t *shares = NULL;
	bool ok = find_workshop_id(call, call_word(call, 0),
		      "planned torn settled", &workshop, err) &&
		  call_get(call, &shares, err, "/v1/workshops/%lld/shares",
		      (long long)workshop);
	if (ok)
		show_shares(call, shares);
	json_decref(shares);
	return ok;
}

/* "Cold press=204.50", or an amount alone when the workshop has one paper. */
static bool add_invoice(struct call *call, json_t *invoices,
    const json_t *workshop, const char *typed, struct err *err)
{
	int64_t paper;
	money amount;
	const char *sign = strrchr(typed, '=');
	char *name = sign ? xstrndup(typed, (size_t)(sign - typed)) : NULL;
	bool ok = find_paper(call, name, workshop, &paper, err) &&
		  call_amount(call, sign ? sign + 1 : typed, &amount, err);
	if (!ok && !sign && err->kind == ERR_INPUT &&
	    json_array_size(json_object_get(workshop, "papers")) != 1)
		err_hint(
		    err, "Write each as PAPER=AMOUNT: \"Cold press=204.50\"");
	if (ok)
		json_array_append_new(invoices,
		    json_pack("{s:I, s:I}", "paper_id", (json_int_t)paper,
			"amount_minor", (json_int_t)amount));
	free(name);
	return ok;
}

static void tell_settlement(struct call *call, const json_t *s)
{
	char a[MONEY_TEXT_MAX], b[MONEY_TEXT_MAX];
	const char *currency = reach_text(s, "currency");
	if (call_for_people(call))
		call_say(call,
		    "Invoice %s; charged now: %s. See: tearshare shares",
		    money_print(a, reach_int(s, "invoice_minor"), currency),
		    money_print(b, reach_int(s, "charged_minor"), currency));
}

bool cmd_settle(struct call *call, struct err *err)
{
	json_t *workshop = NULL, *settlement = NULL, *invoices = json_array();
	bool ok =
	    find_workshop(call, NULL, "planned torn settled", &workshop, err);
	for (size_t i = 0; ok && i < call->n_words; i++)
		ok = add_invoice(
		    call, invoices, workshop, call_word(call, i), err);
	ok = ok && call_post(call, json_pack("{s:O}", "invoices", invoices),
		       &settlement, err, "/v1/workshops/%lld/settlements",
		       (long long)reach_int(workshop, "id"));
	if (ok) {
		tell_settlement(call, settlement);
		call_show(call, settlement);
	}
	json_decref(invoices);
	json_decref(workshop);
	json_decref(settlement);
	return ok;
}

bool cmd_settlements(struct call *call, struct err *err)
{
	int64_t workshop;
	json_t *list = NULL;
	bool ok = find_workshop_id(call, call_word(call, 0),
		      "planned torn settled", &workshop, err) &&
		  call_list(call, &list, err, "/v1/workshops/%lld/settlements",
		      (long long)workshop);
	if (ok)
		call_show_list(call, list, "Nothing was charged yet.");
	json_decref(list);
	return ok;
}
