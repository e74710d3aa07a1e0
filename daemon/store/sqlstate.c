/* SPDX-License-Identifier: MIT */
/*
 * sqlstate.c - what a refusal of the database means to whoever asked.
 *
 * The rules of the schema are named constraints, and this table gives each name its
 * sentence.  A trigger of ours already speaks in sentences: its text is NULL here and the
 * message is taken over.  A rule without a row here is told by its class, and logged, so
 * that a row gets written.
 */
#include "question.h"

#include <string.h>

#include "log.h"

#define AGAIN "Try again in a moment."

struct rule {
	const char *constraint;
	enum err_kind kind;
	const char *text; /* NULL: the database's own message */
	const char *hint;
	const char *field;
};

/* clang-format off */
static const struct rule rules[] = {
	{"length_in_range", ERR_INPUT, "a length is more than 0 and at most 1 km", "", ""},
	{"length_or_zero_in_range", ERR_INPUT, "a length is at least 0 and at most 1 km", "", ""},
	{"currency_is_iso4217", ERR_INPUT, "a currency is three capital letters of ISO 4217", "For example EUR, USD or JPY.", "/currency"},
	{"line_is_printable", ERR_INPUT, "text holds control characters or is longer than 200", "Write it on one line.", ""},
	{"name_is_there", ERR_INPUT, "name is empty", "Give it a name.", "/name"},
	{"studio_time_zone_form", ERR_INPUT, "time zone is not the name of a zone", "For example Europe/Lisbon.", "/time_zone"},
	{"studio_time_zone_known", ERR_INPUT, "time zone is not known", "For example Europe/Lisbon.", "/time_zone"},
	{"studio_share_policy_known", ERR_INPUT, "share_policy is order or torn", "", "/share_policy"},
	{"studio_stages_two_or_three", ERR_INPUT, "stages are 2 or 3", "", "/stages"},
	{"studio_flattening_in_range", ERR_INPUT, "flattening takes 0 to 365 days", "", "/flattening_days"},
	{"studio_count_max_in_range", ERR_INPUT, "the most sheets in one request are 1 to 10000", "", "/count_max"},
	{"studio_forget_in_range", ERR_INPUT, "members are forgotten after 1 to 36500 days, or never: 0", "", "/forget_days"},
	{"member_roles_known", ERR_INPUT, "a member has at least one role", "", "/roles"},
	{"member_last_owner", ERR_CONFLICT, NULL, "Make somebody else an owner first.", ""},
	{"member_held", ERR_CONFLICT, NULL, "Read again what stands in the way.", ""},
	{"member_erased_stays", ERR_CONFLICT, NULL, "Add them anew when they come back.", ""},
	{"key_of_member", ERR_MISSING, "there is no such member", "", ""},
	{"key_hash_once", ERR_BUSY, "could not make a new key", AGAIN, ""},
	{"session_of_member", ERR_MISSING, "there is no such member", "", ""},
	{"session_hash_once", ERR_BUSY, "could not make a new session", AGAIN, ""},
	{"paper_name_once", ERR_CONFLICT, "there is a paper of this name already", "Choose another name, or change that paper.", "/name"},
	{"paper_weight_in_range", ERR_INPUT, "a paper weighs 1 to 5000 g/m2", "", "/weight_gsm"},
	{"paper_finish_known", ERR_INPUT, "a finish is hot press, cold press or rough", "", "/finish"},
	{"stock_of_paper", ERR_MISSING, "there is no such paper", "", "/paper_id"},
	{"stock_from_plan", ERR_MISSING, "there is no such plan", "", "/from_plan_id"},
	{"stock_price_in_range", ERR_INPUT, "a price is at least 0 and at most 1000000000000 minor units", "", "/price_minor"},
	{"stock_available_in_range", ERR_INPUT, "available is 0 to 1000000", "", "/available"},
	{"stock_remnant_is_counted", ERR_INPUT, "roll-ends and offcuts are counted", "Say how many there are.", "/available"},
	{"stock_spoiled_is_list", ERR_INPUT, "spoiled is a list of [from, to]", "", "/spoiled"},
	{"stock_price_while_taken", ERR_CONFLICT, NULL, "Tear it, or open the workshop again, first.", ""},
	{"stock_moved_by_somebody", ERR_INTERNAL, NULL, "", ""},
	{"studio_currency_of_books", ERR_CONFLICT, NULL, "Keep books in another currency in another studio.", "/currency"},
	{"workshop_days_in_range", ERR_INPUT, "a workshop lasts 1 to 366 days", "", "/days"},
	{"workshop_share_policy_known", ERR_INPUT, "share_policy is order or torn", "", "/share_policy"},
	{"workshop_stages_two_or_three", ERR_INPUT, "stages are 2 or 3", "", "/stages"},
	{"workshop_dates_are_real", ERR_INPUT, "a date of the workshop is not in any calendar", "", ""},
	{"workshop_state_follows", ERR_CONFLICT, NULL, "", ""},
	{"workshop_planned_has_plan", ERR_CONFLICT, "a workshop is planned exactly while it has an accepted plan", "", ""},
	{"workshop_accepted_plan", ERR_MISSING, "there is no such plan of this workshop", "", ""},
	{"workshop_paper_of_paper", ERR_MISSING, "there is no such paper", "", "/papers"},
	{"enrolment_of_workshop", ERR_MISSING, "there is no such workshop", "", ""},
	{"enrolment_of_member", ERR_MISSING, "there is no such member", "", ""},
	{"request_member_takes_part", ERR_CONFLICT, "the member does not take part in this workshop", "Join the workshop first.", ""},
	{"request_paper_of_workshop", ERR_CONFLICT, "the paper and its requests belong to the workshop together", "Ask for a paper of this workshop; withdraw requests before a paper goes.", "/paper_id"},
	{"request_count_in_range", ERR_INPUT, "a request is for 1 to 10000 sheets", "", "/count"},
	{"request_torn_holds_picture", ERR_INPUT, "the torn size is smaller than picture and margins", "", ""},
	{"request_while_open", ERR_CONFLICT, NULL, "Requests are taken while the workshop is open.", ""},
	{"invitation_of_workshop", ERR_MISSING, "there is no such workshop", "", ""},
	{"invitation_uses_within_max", ERR_CONFLICT, "the invitation is used up", "Ask for a new one.", ""},
	{"invitation_uses_max_in_range", ERR_INPUT, "an invitation is for 1 to 10000 people", "", "/uses_max"},
	{"plan_of_workshop", ERR_MISSING, "there is no such workshop", "", ""},
	{"plan_number_once", ERR_BUSY, "could not number the plan", AGAIN, ""},
	{"plan_one_working", ERR_CONFLICT, "the workshop is being planned already", "Wait for that plan, or cancel it.", ""},
	{"plan_one_accepted", ERR_CONFLICT, "another plan of the workshop is accepted", "", ""},
	{"plan_state_follows", ERR_CONFLICT, NULL, "", ""},
	{"job_of_plan", ERR_MISSING, "there is no such plan", "", ""},
	{"job_of_paper", ERR_MISSING, "there is no such paper", "", ""},
	{"stock_use_of_plan", ERR_MISSING, "there is no such plan", "", ""},
	{"settlement_of_workshop", ERR_MISSING, "there is no such workshop", "", ""},
	{"settlement_of_plan", ERR_MISSING, "there is no such plan of this workshop", "", ""},
	{"settlement_number_once", ERR_CONFLICT, "the workshop was settled at the same moment", "Look at that settlement first.", ""},
	{"settlement_number_follows", ERR_CONFLICT, "settlements are numbered without gaps", "", ""},
	{"settlement_one_currency", ERR_CONFLICT, "a workshop has one currency", "", "/currency"},
	{"settlement_charges_the_difference", ERR_CONFLICT, "the invoice was settled in another amount meanwhile", "Look at the last settlement, then settle again.", ""},
	{"settlement_adds_up", ERR_INTERNAL, NULL, "", ""},
	{"settlement_shares_add_up", ERR_INTERNAL, NULL, "", ""},
	{"settlement_invoice_in_range", ERR_INPUT, "an invoice is at least 0 and at most 1000000000000000 minor units", "", "/invoice_minor"},
	{"member_payer", ERR_MISSING, "there is no such member", "", "/payer_id"},
	{"member_payer_is_another", ERR_INPUT, "nobody is their own payer", "Send null: everybody pays for themselves.", "/payer_id"},
	{"member_payer_pays_for_self", ERR_CONFLICT, NULL, "Name somebody who pays for themselves.", "/payer_id"},
	{"member_payer_when_even", ERR_CONFLICT, NULL, "Settle, refund or carry it first.", "/payer_id"},
	{"invoice_of_workshop", ERR_MISSING, "there is no such workshop", "", ""},
	{"invoice_replaces", ERR_MISSING, "there is no such invoice of this workshop", "", ""},
	{"invoice_replaced_once", ERR_CONFLICT, "the invoice was replaced or withdrawn already", "Read the invoices again.", ""},
	{"invoice_advanced_by_member", ERR_MISSING, "there is no such member", "", "/advanced_by"},
	{"invoice_total_in_range", ERR_INPUT, "an invoice is at most 1000000000000000 minor units", "", "/total_minor"},
	{"invoice_adds_up", ERR_INPUT, NULL, "Enter every line, and the total as it is printed.", "/total_minor"},
	{"invoice_line_of_paper", ERR_MISSING, "there is no such paper", "", "/lines"},
	{"invoice_line_of_stock", ERR_MISSING, "there is no such stock", "", "/lines"},
	{"invoice_line_is_count_times_price", ERR_INPUT, "a line is its count times the price of one", "", "/lines"},
	{"invoice_line_discount_is_taken_off", ERR_INPUT, "a discount is 0 or less", "", "/lines"},
	{"booking_of_settlement", ERR_MISSING, "there is no such settlement of this workshop", "", ""},
	{"booking_of_plan", ERR_MISSING, "there is no such plan", "", ""},
	{"booking_reverses", ERR_MISSING, "there is no such booking", "", ""},
	{"booking_paid_by_member", ERR_MISSING, "there is no such member", "", "/payer_id"},
	{"booking_reversed_once", ERR_CONFLICT, "the booking was reversed already", "", ""},
	{"booking_bank_line_once", ERR_CONFLICT, NULL, "Look at that booking; reverse it first if it is wrong.", "/bank_reference"},
	{"booking_says_why", ERR_INPUT, "the reason is missing", "Say why: it stands in the ledger.", "/reason"},
	{"booking_can_be_reversed", ERR_CONFLICT, NULL, "", ""},
	{"booking_goes_its_way", ERR_INPUT, NULL, "To take one back, reverse it.", "/amount_minor"},
	{"booking_reversal_matches_original", ERR_INTERNAL, NULL, "", ""},
	{"booking_balances", ERR_INTERNAL, NULL, "", ""},
	{"booking_has_its_legs", ERR_INTERNAL, NULL, "", ""},
	{"booking_moves_its_accounts", ERR_INTERNAL, NULL, "", ""},
	{"entry_comes_with_booking", ERR_CONFLICT, NULL, "", ""},
	{"entry_of_workshop", ERR_MISSING, "there is no such workshop", "", "/to_workshop_id"},
	{"entry_member_takes_part", ERR_CONFLICT, "the member does not take part in this workshop", "", "/member_id"},
	{"entry_amount_not_zero", ERR_INPUT, "an amount is never zero", "", "/amount_minor"},
	{"entry_amount_in_range", ERR_INPUT, "an amount is at most 1000000000000000 minor units", "", "/amount_minor"},
	{"kept_answer_key", ERR_BUSY, "another request with this key was under way", "Ask again with the same key.", ""},
	{"kept_answer_of_studio", ERR_MISSING, "there is no such studio", "", ""},
	{"event_of_workshop", ERR_MISSING, "there is no such workshop", "", ""},
	{"event_of_member", ERR_MISSING, "there is no such member", "", ""},
};

/* By SQLSTATE, or its first two characters. */
static const struct rule states[] = {
	{"40001", ERR_BUSY, "two changes met", AGAIN, ""},
	{"40P01", ERR_BUSY, "two changes met", AGAIN, ""},
	{"55P03", ERR_BUSY, "something else holds what this needs", AGAIN, ""},
	{"57014", ERR_BUSY, "the database took too long", AGAIN, ""},
	{"25P03", ERR_BUSY, "the transaction was left waiting too long", AGAIN, ""},
	{"53100", ERR_BUSY, "the database's disk is full", "Free space on it; what was stored is safe.", ""},
	{"53", ERR_BUSY, "the database is out of room or connections", AGAIN, ""},
	{"57", ERR_BUSY, "the database is going down or coming up", AGAIN, ""},
	{"08", ERR_BUSY, "the link to the database broke", AGAIN, ""},
	{"0A000", ERR_BUSY, "the database was brought up to date meanwhile", AGAIN, ""},
	{"26000", ERR_BUSY, "the database was brought up to date meanwhile", AGAIN, ""},
	{"25006", ERR_BUSY, "the database takes no changes at the moment", AGAIN, ""},
	{"23503", ERR_MISSING, "something that was named is not there", "", ""},
	{"23505", ERR_CONFLICT, "there is one like it already", "", ""},
	{"23514", ERR_INPUT, "a value breaks a rule", "", ""},
	{"23502", ERR_INPUT, "a value is missing", "", ""},
	{"23001", ERR_CONFLICT, NULL, "", ""},
	{"22", ERR_INPUT, "a value is not of its kind or out of range", "", ""},
};
/* clang-format on */

static const char *field(const PGresult *res, int code)
{
	const char *text = PQresultErrorField(res, code);
	return text ? text : "";
}

bool sqlstate_is_fatal(const PGresult *res)
{
	const char *state = field(res, PG_DIAG_SQLSTATE);
	return *state == '\0' || strncmp(state, "57P", 3) == 0 ||
	       strncmp(state, "08", 2) == 0;
}

bool sqlstate_is_outdated(const PGresult *res)
{
	const char *state = field(res, PG_DIAG_SQLSTATE);
	return strcmp(state, "0A000") == 0 || strcmp(state, "26000") == 0;
}

static const struct rule *find_constraint(const char *name)
{
	for (size_t i = 0; *name && i < sizeof(rules) / sizeof(rules[0]); i++)
		if (strcmp(rules[i].constraint, name) == 0)
			return &rules[i];
	return NULL;
}

static const struct rule *find_state(const char *state)
{
	for (size_t i = 0; *state && i < sizeof(states) / sizeof(states[0]);
	     i++)
		if (strncmp(states[i].constraint, state,
			strlen(states[i].constraint)) == 0)
			return &states[i];
	return NULL;
}

static void log_refusal(enum log_level level, const PGresult *res)
{
	char cause[LOG_VALUE_MAX], constraint[LOG_VALUE_MAX];
	log_event(level, "database-refused",
	    "sqlstate=%s constraint=%s cause=%s", field(res, PG_DIAG_SQLSTATE),
	    log_value(constraint, field(res, PG_DIAG_CONSTRAINT_NAME)),
	    log_value(cause, field(res, PG_DIAG_MESSAGE_PRIMARY)));
}

bool sqlstate_err(const PGresult *res, struct err *err)
{
	const char *state = field(res, PG_DIAG_SQLSTATE);
	const struct rule *rule =
	    find_constraint(field(res, PG_DIAG_CONSTRAINT_NAME));
	if (!rule) {
		rule = find_state(state);
		log_refusal(LOG_WARN, res);
	}
	if (!rule && *state == '\0') {
		err_set(err, ERR_BUSY, "could not reach the database");
		return err_hint(err, AGAIN);
	}
	if (!rule || rule->kind == ERR_INTERNAL) {
		log_refusal(LOG_ERROR, res);
		return err_set(err, ERR_INTERNAL, "database error %s: %.300s",
		    state, field(res, PG_DIAG_MESSAGE_PRIMARY));
	}
	err_set(err, rule->kind, "%s",
	    rule->text ? rule->text : field(res, PG_DIAG_MESSAGE_PRIMARY));
	if (*rule->hint)
		err_hint(err, "%s", rule->hint);
	if (*rule->field)
		err_field(err, "%s", rule->field);
	return false;
}
