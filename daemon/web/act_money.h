/* SPDX-License-Identifier: MIT */
/*
 * Shares, settlements, payments, statements.  Actions as in act_request.h.
 *
 * Shares are computed by daemon/share and never in SQL, from the invoices in force, the
 * prices of the accepted plan for what is not invoiced yet, and what was taken from the shelf.
 */
#ifndef WEB_ACT_MONEY_H
#define WEB_ACT_MONEY_H

#include "call.h"
#include "derive.h"

#define AMOUNT_MAX INT64_C(100000000000)

struct share_part {
	int64_t paper_id;
	area area_uu;
	money share_minor;
};
struct share_row {
	int64_t member_id;
	const char *member_name;
	int64_t sheets;
	money share_minor, charged_minor,
	    paid_minor; /* balance: charged - paid */
	money
	    other_minor; /* of the share: costs of no one paper, and the ceiling */
	struct share_part *parts; /* one for each paper the member asked for */
	size_t n_parts;
};
struct share_paper {
	int64_t paper_id;
	const char *paper_name;
	money cost_minor; /* the plan's price */
	bool invoiced;    /* rolls of it were */
	bool by_lines;    /* on an invoice entered line by line */
	money
	    invoice_minor; /* its lines, or the plan's price of what is to be bought */
	money shared_minor; /* what its members share of it */
	area area_uu;
};
struct shares {
	int64_t plan_id;
	money cost_minor, sum_minor; /* the plan's price; the shares added up */
	bool invoiced;               /* something was */
	money
	    invoice_minor; /* the whole order: invoices, and estimates for the rest */
	money estimated_minor, used_minor, kept_minor; /* as of a settlement */
	struct share_result *result;                   /* how it was reckoned */
	struct share_paper *papers;
	size_t n_papers;
	struct share_row
	    *items; /* by member id; everybody who has a share or an entry */
	size_t n_items;
};
typedef void act_shares_fn(struct call *call, const struct shares *shares);
/* Of call->workshop; ERR_CONFLICT when it has no accepted plan. */
void act_shares(struct call *call, act_shares_fn *done);

struct invoice {
	int64_t paper_id;
	money amount_minor;
};
typedef void act_settlement_fn(
    struct call *call, const struct settlement_row *settlement);
/* Of call->workshop, locked.  Papers left out keep the invoice (or price) they had. */
void act_settle(struct call *call, const struct invoice *invoices, size_t n,
    act_settlement_fn *done);
/* What that would charge; nothing is written. */
void act_settle_look(struct call *call, const struct invoice *invoices,
    size_t n, act_shares_fn *done);

typedef void act_entry_fn(struct call *call, const struct entry_row *entry);
/* What a treasurer books in call->workshop, locked: kind, member_id, amount_minor, method,
 * reference, bank_reference, reason, paid_on, payer_id, payee_id.  A payment, a refund, a
 * write-off: of this member; a correction: owed more, or less when negative; a transfer: of
 * the member's credit to `to`, a member; a carry: to `to`, another workshop.  The entry
 * of the member. */
void act_book(struct call *call, const struct entry_row *entry, int64_t to,
    act_entry_fn *done);
/* The booking of call->entry: everything but what a settlement charged. */
void act_reverse(struct call *call, const char *reason, act_entry_fn *done);

struct statement { /* of call->member in one workshop */
	struct workshop_row workshop;
	const struct request_row *requests;
	size_t n_requests;
	bool has_share; /* a plan is accepted */
	struct share_row share;
	const struct share_paper *papers; /* what the share is a share of */
	size_t n_papers;
	const struct entry_row *entries; /* payments and their reversals */
	size_t n_entries;
	money charged_minor, paid_minor; /* balance: charged - paid */
	/* How the share was reckoned: as charged last, or as things stand (estimate); NULL: no
	 * plan is accepted. */
	const struct share_result *result;
	bool estimate;
};
typedef void act_statement_fn(
    struct call *call, const struct statement *statement);
/* ?workshop=ID, and no parts of a query but those named.  False: the call has ended. */
bool act_statement_query(struct call *call, const char *const parts[],
    int64_t *workshop_id) MUST_USE;
void act_statement(
    struct call *call, int64_t workshop_id, act_statement_fn *done);
/* In call->workshop, also of whoever takes no part. */
void act_own_statement(struct call *call, act_statement_fn *done);

#endif
