/* SPDX-License-Identifier: MIT */
/*
 * invoice, account: what an order has cost, line by line, and what the accounts hold.
 *
 * A line is typed as KIND[:WHAT]=[COUNTx]AMOUNT, as it stands on the invoice:
 *
 *     "rolls:Cold press=2x192.00"   shipping=24.50   tax:8.875%=53.34   discount=30.05
 *
 * WHAT is the paper of rolls, the rate of tax, and any words for the rest.
 */
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "body.h"
#include "cli_columns.h"
#include "command.h"
#include "find.h"
#include "reach.h"
#include "save.h"
#include "status.h"

/* ---- a line ---- */

static bool line_fail(struct err *err, const char *typed)
{
	cli_fail(err, CLI_USAGE, "\"%.100s\" is no line of an invoice", typed);
	return err_hint(err, "Write KIND[:WHAT]=[COUNTx]AMOUNT: "
			     "\"rolls:Cold press=2x192.00\", shipping=24.50, "
			     "tax:8.875%%=53.34.");
}

/* "2x192.00", or "192.00" */
static bool read_amount(
    struct call *call, json_t *line, const char *typed, struct err *err)
{
	const char *sign = strchr(typed, 'x');
	char *end = NULL;
	money amount;
	long count = 0;
	if (sign) {
		errno = 0;
		count = strtol(typed, &end, 10);
		if (end != sign || count < 1 || count > 1000000 || errno)
			return line_fail(err, typed);
		typed = sign + 1;
	}
	bool minus = *typed == '-';
	if (!call_amount(call, typed + minus, &amount, err))
		return false;
	if (minus || strcmp(reach_text(line, "kind"), "discount") == 0)
		amount = -amount;
	if (sign)
		json_object_set_new(line, "count", json_integer(count));
	json_object_set_new(
	    line, sign ? "unit_minor" : "amount_minor", json_integer(amount));
	return true;
}

static bool read_what(struct call *call, json_t *line, const json_t *workshop,
    const char *what, struct err *err)
{
	const char *kind = reach_text(line, "kind");
	size_t len = what ? strlen(what) : 0;
	int64_t paper;
	if (strcmp(kind, "rolls") == 0) {
		if (!find_paper(call, what, workshop, &paper, err))
			return false;
		json_object_set_new(line, "paper_id", json_integer(paper));
	} else if (what && strcmp(kind, "tax") == 0) {
		len -= len > 0 && what[len - 1] == '%';
		json_object_set_new(
		    line, "tax_percent", json_stringn(what, len));
	} else if (what) {
		json_object_set_new(line, "description", json_string(what));
	}
	return true;
}

static bool add_line(struct call *call, json_t *lines, const json_t *workshop,
    const char *typed, struct err *err)
{
	const char *sign = strrchr(typed, '=');
	json_t *line = json_object();
	if (!sign) {
		json_decref(line);
		return line_fail(err, typed);
	}
	char *head = xstrndup(typed, (size_t)(sign - typed));
	char *what = strchr(head, ':');
	if (what)
		*what++ = '\0';
	json_object_set_new(line, "kind", json_string(head));
	bool ok = read_what(call, line, workshop, what, err) &&
		  read_amount(call, line, sign + 1, err);
	if (ok)
		json_array_append(lines, line);
	json_decref(line);
	free(head);
	return ok;
}

/* ---- entering ---- */

/* TOTAL LINE..., from the word `first` on. */
static json_t *invoice_body(
    struct call *call, const json_t *workshop, size_t first, struct err *err)
{
	json_t *body = json_object(), *lines = json_array();
	money total;
	int64_t member;
	const char *typed = call_word(call, first);
	bool minus = *typed == '-';
	bool ok = call_amount(call, typed + minus, &total, err);
	for (size_t i = first + 1; ok && i < call->n_words; i++)
		ok = add_line(call, lines, workshop, call_word(call, i), err);
	ok = ok && body_add_text(call, body, "number", "number", err) &&
	     body_add_text(call, body, "supplier", "supplier", err) &&
	     body_add_day(call, body, "on", "dated_on", err) &&
	     body_add_text(call, body, "note", "note", err) &&
	     body_add_text(call, body, "reason", "reason", err);
	if (ok && call_option(call, "payer")) {
		ok =
		    find_member(call, call_option(call, "payer"), &member, err);
		if (ok)
			json_object_set_new(
			    body, "advanced_by", json_integer(member));
	}
	if (ok && call_option(call, "tax-included"))
		json_object_set_new(body, "tax_included", json_true());
	if (ok)
		json_object_set_new(
		    body, "total_minor", json_integer(minus ? -total : total));
	json_object_set_new(body, "lines", lines);
	if (ok)
		return body;
	json_decref(body);
	return NULL;
}

static void show_lines(struct call *call, const json_t *invoice)
{
	if (call->pen.style != STYLE_PEOPLE)
		return;
	call->pen.currency = reach_text(invoice, "currency");
	fputc('\n', call->pen.out);
	table_write(
	    &call->pen, columns_line, json_object_get(invoice, "lines"));
	call->pen.currency = NULL;
}

bool cmd_invoice_add(struct call *call, struct err *err)
{
	json_t *workshop = NULL, *invoice = NULL, *body = NULL;
	bool ok = find_workshop(call, NULL, NULL, &workshop, err) &&
		  (body = invoice_body(call, workshop, 0, err)) != NULL &&
		  call_post(call, json_incref(body), &invoice, err,
		      "/v1/workshops/%lld/invoices",
		      (long long)reach_int(workshop, "id"));
	if (ok) {
		call_show(call, invoice);
		show_lines(call, invoice);
		if (call_for_people(call))
			call_say(
			    call, "Nobody is charged yet: tearshare settle");
	}
	json_decref(workshop);
	json_decref(invoice);
	json_decref(body);
	return ok;
}

bool cmd_invoice_replace(struct call *call, struct err *err)
{
	int64_t id, of;
	json_t *was = NULL, *workshop = NULL, *invoice = NULL, *body = NULL;
	bool ok = find_number(call_word(call, 0), "invoice", &id, err) &&
		  call_get(call, &was, err, "/v1/invoices/%lld", (long long)id);
	of = reach_int(was, "workshop_id");
	ok = ok &&
	     call_get(
		 call, &workshop, err, "/v1/workshops/%lld", (long long)of) &&
	     (body = invoice_body(call, workshop, 1, err)) != NULL &&
	     call_post(call, json_incref(body), &invoice, err,
		 "/v1/invoices/%lld/replace", (long long)id);
	if (ok) {
		call_show(call, invoice);
		show_lines(call, invoice);
	}
	json_decref(was);
	json_decref(workshop);
	json_decref(invoice);
	json_decref(body);
	return ok;
}

bool cmd_invoice_withdraw(struct call *call, struct err *err)
{
	int64_t id;
	json_t *body = json_object(), *invoice = NULL;
	bool ok = find_number(call_word(call, 0), "invoice", &id, err) &&
		  body_add_text(call, body, "reason", "reason", err) &&
		  call_post(call, json_incref(body), &invoice, err,
		      "/v1/invoices/%lld/withdraw", (long long)id);
	if (ok)
		call_show(call, invoice);
	json_decref(body);
	json_decref(invoice);
	return ok;
}

/* ---- reading ---- */

bool cmd_invoice_show(struct call *call, struct err *err)
{
	int64_t id;
	json_t *invoice = NULL;
	bool ok =
	    find_number(call_word(call, 0), "invoice", &id, err) &&
	    call_get(call, &invoice, err, "/v1/invoices/%lld", (long long)id);
	if (ok) {
		call_show(call, invoice);
		show_lines(call, invoice);
	}
	json_decref(invoice);
	return ok;
}

static bool show_of_workshop(
    struct call *call, const char *path, const char *none, struct err *err)
{
	int64_t workshop;
	json_t *list = NULL;
	bool ok =
	    find_workshop_id(call, call_word(call, 0), NULL, &workshop, err) &&
	    call_get(call, &list, err, "/v1/workshops/%lld/%s",
		(long long)workshop, path);
	if (ok)
		call_show_list(call, list, none);
	json_decref(list);
	return ok;
}

bool cmd_invoice_list(struct call *call, struct err *err)
{
	return show_of_workshop(
	    call, "invoices", "No invoice is entered yet.", err);
}

bool cmd_account(struct call *call, struct err *err)
{
	int64_t workshop;
	char path[64];

	if (!save_is_asked(call))
		return show_of_workshop(
		    call, "account", "Nothing is booked yet.", err);
	if (!find_workshop_id(call, call_word(call, 0), NULL, &workshop, err))
		return false;
	snprintf(path, sizeof(path), "/v1/workshops/%lld/account",
	    (long long)workshop);
	return save_form(call, path, err);
}
