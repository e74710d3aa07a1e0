/* SPDX-License-Identifier: MIT */
/*
 * pay, payments, reverse, statement, books: the ledger.
 */
#include <stdlib.h>
#include <string.h>

#include "body.h"
#include "cli_columns.h"
#include "command.h"
#include "find.h"
#include "reach.h"
#include "save.h"

static const char money_states[] = "planned torn settled";

bool cmd_pay(struct call *call, struct err *err)
{
	int64_t workshop, member, other;
	money amount;
	json_t *body = json_object(), *entry = NULL;
	bool ok = find_member(call, call_word(call, 0), &member, err) &&
		  call_amount(call, call_word(call, 1), &amount, err) &&
		  find_workshop_id(call, NULL, money_states, &workshop, err) &&
		  body_add_text(call, body, "method", "method", err) &&
		  body_add_text(call, body, "reference", "reference", err) &&
		  body_add_text(
		      call, body, "bank-reference", "bank_reference", err) &&
		  body_add_text(call, body, "reason", "reason", err) &&
		  body_add_day(call, body, "on", "paid_on", err);
	if (ok && call_option(call, "payer")) {
		ok = find_member(call, call_option(call, "payer"), &other, err);
		json_object_set_new(body, "payer_id", json_integer(other));
	}
	if (ok && call_option(call, "payee")) {
		ok = find_member(call, call_option(call, "payee"), &other, err);
		json_object_set_new(body, "payee_id", json_integer(other));
	}
	if (ok) {
		json_object_set_new(body, "member_id", json_integer(member));
		json_object_set_new(body, "amount_minor", json_integer(amount));
		ok = call_post(call, json_incref(body), &entry, err,
		    "/v1/workshops/%lld/payments", (long long)workshop);
	}
	if (ok)
		call_show(call, entry);
	json_decref(body);
	json_decref(entry);
	return ok;
}

bool cmd_payments(struct call *call, struct err *err)
{
	int64_t workshop;
	json_t *list = NULL;
	bool ok = find_workshop_id(
		      call, call_word(call, 0), money_states, &workshop, err) &&
		  call_list(call, &list, err, "/v1/workshops/%lld/payments",
		      (long long)workshop);
	if (ok)
		call_show_list(call, list, "Nothing is booked yet.");
	json_decref(list);
	return ok;
}

bool cmd_reverse(struct call *call, struct err *err)
{
	int64_t id;
	json_t *body = json_object(), *entry = NULL;
	bool ok = find_number(call_word(call, 0), "entry", &id, err) &&
		  body_add_text(call, body, "reason", "reason", err) &&
		  call_post(call, json_incref(body), &entry, err,
		      "/v1/payments/%lld/reverse", (long long)id);
	if (ok)
		call_show(call, entry);
	json_decref(body);
	json_decref(entry);
	return ok;
}

static void money_line(FILE *out, const char *what, const json_t *s,
    const char *path, const char *currency)
{
	char text[MONEY_TEXT_MAX];
	if (json_is_integer(reach(s, path)))
		fprintf(out, "%-12s %16s\n", what,
		    money_print(text, reach_int(s, path), currency));
}

static void section(struct call *call, const char *title,
    const struct column *columns, const json_t *items)
{
	if (json_array_size(items) == 0)
		return;
	fprintf(call->pen.out, "\n%s\n", title);
	table_write(&call->pen, columns, items);
}

/* A person's paper: what was asked for, what it costs, what was paid, what is left. */
/* Charges, then payments and their reversals; the caller's to give up. */
static json_t *statement_entries(const json_t *s)
{
	json_t *entries = json_array();
	json_array_extend(entries, json_object_get(s, "charges"));
	json_array_extend(entries, json_object_get(s, "payments"));
	return entries;
}

static void show_statement(
    struct call *call, const json_t *s, const json_t *entries)
{
	FILE *out = call->pen.out;
	char name[300];
	const char *currency = reach_text(s, "currency");
	snprintf(name, sizeof(name), "%.200s",
	    *reach_text(s, "member/name") ? reach_text(s, "member/name")
					  : reach_text(s, "member"));
	text_clean(name);
	fprintf(out, "Statement of %s\n", name);
	call->pen.currency = currency;
	section(
	    call, "Sheets", columns_request, json_object_get(s, "requests"));
	section(call, "Charges and payments", columns_entry, entries);
	fputc('\n', out);
	money_line(out, "share", s, "share/share_minor", currency);
	money_line(out, "charged", s, "charged_minor", currency);
	money_line(out, "paid", s, "paid_minor", currency);
	money_line(out, "still owed", s, "balance_minor", currency);
	call->pen.currency = NULL;
}

static bool show_or_fail(
    struct call *call, int64_t member, int64_t workshop, struct err *err)
{
	json_t *s = NULL;
	bool ok =
	    call_get(call, &s, err, "/v1/members/%lld/statement?workshop=%lld",
		(long long)member, (long long)workshop);
	json_t *entries = statement_entries(s);
	if (ok && call->pen.style == STYLE_JSON)
		json_write(call->pen.out, s);
	else if (ok && call->pen.style == STYLE_PLAIN)
		table_write(&call->pen, columns_entry, entries);
	else if (ok)
		show_statement(call, s, entries);
	json_decref(entries);
	json_decref(s);
	return ok;
}

bool cmd_statement(struct call *call, struct err *err)
{
	int64_t workshop, member;
	char path[128];
	bool ok = find_workshop_id(call, NULL, money_states, &workshop, err) &&
		  find_member_or_me(call, call_word(call, 0), &member, err);

	if (!ok || !save_is_asked(call))
		return ok && show_or_fail(call, member, workshop, err);
	snprintf(path, sizeof(path), "/v1/members/%lld/statement?workshop=%lld",
	    (long long)member, (long long)workshop);
	return save_form(call, path, err);
}

bool cmd_reminders(struct call *call, struct err *err)
{
	json_t *list = NULL;
	if (save_is_asked(call))
		return save_form(call, "/v1/reminders", err);
	bool ok = call_get(call, &list, err, "/v1/reminders");
	if (ok)
		call_show_list(call, list, "Nobody owes anything.");
	json_decref(list);
	return ok;
}

bool cmd_books(struct call *call, struct err *err)
{
	json_t *list = NULL;
	bool ok = call_get(call, &list, err, "/v1/reconciliation");
	if (ok)
		call_show_list(call, list, "The books agree.");
	if (ok && json_array_size(json_object_get(list, "items"))) {
		ok = err_set(err, ERR_CONFLICT, "the books do not agree");
		err_hint(err,
		    "Each line above names one place; nothing was changed.");
	}
	json_decref(list);
	return ok;
}
