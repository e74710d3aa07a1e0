/* SPDX-License-Identifier: MIT */
/*
 * refund, write-off, correct, transfer, carry: what a treasurer books beside payments.
 */
#include <stdlib.h>

#include "body.h"
#include "cli_columns.h"
#include "command.h"
#include "find.h"
#include "reach.h"

/* The members that all of them have; amount is the word at `at`. */
static json_t *booking_body(
    struct call *call, const char *kind, size_t at, struct err *err)
{
	json_t *body = json_object();
	int64_t member, payee;
	money amount;
	bool ok = find_member(call, call_word(call, 0), &member, err) &&
		  call_amount(call, call_word(call, at), &amount, err) &&
		  body_add_text(call, body, "reason", "reason", err) &&
		  body_add_text(call, body, "method", "method", err) &&
		  body_add_text(call, body, "reference", "reference", err) &&
		  body_add_text(
		      call, body, "bank-reference", "bank_reference", err) &&
		  body_add_day(call, body, "on", "paid_on", err);
	if (ok && call_option(call, "payee")) {
		ok = find_member(call, call_option(call, "payee"), &payee, err);
		if (ok)
			json_object_set_new(
			    body, "payee_id", json_integer(payee));
	}
	if (ok) {
		json_object_set_new(body, "kind", json_string(kind));
		json_object_set_new(body, "member_id", json_integer(member));
		json_object_set_new(body, "amount_minor",
		    json_integer(call_option(call, "less") ? -amount : amount));
		return body;
	}
	json_decref(body);
	return NULL;
}

static bool book(struct call *call, json_t *body, struct err *err)
{
	int64_t workshop;
	json_t *entry = NULL;
	bool ok = find_workshop_id(call, NULL, NULL, &workshop, err) &&
		  call_post(call, json_incref(body), &entry, err,
		      "/v1/workshops/%lld/bookings", (long long)workshop);
	if (ok)
		call_show(call, entry);
	json_decref(entry);
	return ok;
}

/* The other member, or workshop, that some of them name. */
static bool book_to(struct call *call, const char *kind, size_t at,
    const char *member, int64_t to, struct err *err)
{
	json_t *body = booking_body(call, kind, at, err);
	if (body && member)
		json_object_set_new(body, member, json_integer(to));
	bool ok = body && book(call, body, err);
	json_decref(body);
	return ok;
}

bool cmd_refund(struct call *call, struct err *err)
{
	return book_to(call, "refund", 1, NULL, 0, err);
}

bool cmd_write_off(struct call *call, struct err *err)
{
	return book_to(call, "write-off", 1, NULL, 0, err);
}

bool cmd_correct(struct call *call, struct err *err)
{
	return book_to(call, "correction", 1, NULL, 0, err);
}

bool cmd_transfer(struct call *call, struct err *err)
{
	int64_t to;
	return find_member(call, call_word(call, 1), &to, err) &&
	       book_to(call, "transfer", 2, "to_member_id", to, err);
}

/* The workshop it goes to is a word; the one it comes from is meant as everywhere. */
bool cmd_carry(struct call *call, struct err *err)
{
	int64_t to;
	return find_number(call_word(call, 2), "workshop", &to, err) &&
	       book_to(call, "carry", 1, "to_workshop_id", to, err);
}
