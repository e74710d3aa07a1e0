/* SPDX-License-Identifier: MIT */
/*
 * From the cost of an order to what every member owes, with each step of the way.
 *
 *     struct share_order order = {.rules = share_rules_usual(SHARE_ORDER), ...};
 *     struct share_result *result = NULL;
 *     if (!share_derive(&order, arena, &result, err)) ...    a limit is passed: err names it
 *
 * An order is lines of cost, some of one paper and some common to all, and members with
 * their torn areas.  Lines that are shared by the same weights are one *pot*.  A pot is
 * split by share_split(): whole units of the exact proportion, then the odd units.  What a
 * member owes is the sum of the steps, one for each pot, and after that the ceiling.
 *
 * Policies (docs/share.md): SHARE_ORDER, members pay for the whole order; SHARE_TORN, the
 * studio takes the roll-ends over as stock at cost and members pay for the rest.
 *
 * The ceiling: nobody pays more than their own sheets alone would have cost, bought by the
 * same rules.  What that takes off some is put on the others by torn area, until none is
 * over.  When the ceilings together are below the cost, none is applied.
 *
 * Pure and exact: the same order gives the same result whatever the order of its members,
 * lines and papers.  Everything in the result is from the arena or borrowed from the order.
 */
#ifndef SHARE_DERIVE_H
#define SHARE_DERIVE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "arena.h"
#include "err.h"
#include "measure.h"
#include "split.h"
#include "text.h"

#define SHARE_MEMBERS_MAX 100000
#define SHARE_PAPERS_MAX 1000
#define SHARE_LINES_MAX 10000

enum share_policy { SHARE_ORDER, SHARE_TORN };

struct share_rules {
	enum share_policy policy;
	bool ceiling;       /* stand-alone ceiling */
	bool shipping_each; /* shipping in equal parts instead of by area */
};

/* SHARE_ORDER with the ceiling, SHARE_TORN without; shipping by area. */
struct share_rules share_rules_usual(enum share_policy policy);
/* "order", "torn" */
const char *share_policy_name(enum share_policy policy);
bool share_policy_read(const char *name, enum share_policy *out) MUST_USE;

/* What a line of cost is for.  COST_SHELF: stock of the studio's own, at the value it was
 * kept at.  Discounts and credits are negative. */
enum cost_kind {
	COST_ROLLS,
	COST_SHELF,
	COST_SHIPPING,
	COST_TAX,
	COST_DISCOUNT,
	COST_OTHER
};
/* "rolls", "shelf", "shipping", "tax", "discount", "other" */
const char *cost_kind_name(enum cost_kind kind);
bool cost_kind_read(const char *name, enum cost_kind *out) MUST_USE;

struct share_line {
	int64_t paper_id; /* 0: common to all papers */
	enum cost_kind kind;
	money amount;
};

/* What the accepted plan says of one paper: its price, in the prices that the stand-alone
 * plans use too; the area of all rolls and sheets it uses; what of it goes to the shelf. */
struct share_of_paper {
	int64_t paper_id;
	money planned;
	area bought, kept;
};

/* One member's sheets of one paper, planned by themselves on fresh rolls. */
struct share_alone {
	money price;
	area bought, kept;
};

/* used: torn area, for each of order->papers; alone likewise, NULL: not known, no ceiling. */
struct share_member {
	int64_t member_id;
	const area *used;
	const struct share_alone *alone;
};

struct share_order {
	int64_t workshop_id; /* odd units follow share_tie() */
	struct share_rules rules;
	const struct share_line *lines;
	size_t n_lines;
	const struct share_of_paper *papers;
	size_t n_papers;
	const struct share_member *members;
	size_t n_members;
};

/* ---- the result ---- */

/* By what a pot is split: the area of one paper, the area of all papers, or in equal parts
 * among those with area. */
enum pot_by { POT_BY_PAPER, POT_BY_AREA, POT_EACH };

struct share_pot {
	enum pot_by by;
	int64_t paper_id;    /* POT_BY_PAPER */
	const size_t *lines; /* indices into the lines, rising */
	size_t n_lines;
	money cost;   /* the lines added up */
	money kept;   /* the studio's: its paper's lines x kept / bought, cut */
	money amount; /* cost - kept: what is split */
	area total;   /* divided by: area, or the number of members */
};

/*
 * amount x own / total = whole + rest / total, and paid is whole, or one unit more (the
 * odd one).  Of a negative amount whole and paid are negative, and rest / total goes off
 * them: whole - rest / total.
 */
struct share_step {
	size_t pot; /* index into the pots */
	area own;
	money whole;
	area rest;
	bool odd;
	money paid;
};

/* The ceiling of one paper: own plan x cost / planned, rounded up; SHARE_TORN: less kept. */
struct share_ceiling {
	money price, kept;
};

/*
 * One member.  base is the steps added up, alone the ceiling: what is left of each paper's,
 * and the common lines in full (reductions by area).  round: of the ceiling in which this
 * member reached it, 0 for never.  Then share = alone; else share = base + raised.paid,
 * the part of the others' excess (whose pot means nothing).
 */
struct share_due {
	int64_t member_id;
	area used; /* of all papers */
	const struct share_step *steps;
	size_t n_steps;
	money base;
	bool has_alone;
	const struct share_ceiling
	    *ceilings; /* for each paper; NULL without alone */
	money alone_common, alone;
	unsigned round;
	struct share_step raised;
	money share;
};

/*
 * CEILING_OFF: not asked for.  CEILING_KEPT: nobody pays more than alone.  Not applied:
 * CEILING_UNKNOWN, a stand-alone cost is not known; CEILING_TOO_LOW, all stand-alone costs
 * together are below the cost.
 */
enum ceiling_state {
	CEILING_OFF,
	CEILING_KEPT,
	CEILING_UNKNOWN,
	CEILING_TOO_LOW
};
/* "off", "kept", "unknown", "too-low" */
const char *ceiling_state_name(enum ceiling_state state);

struct share_result {
	struct share_rules rules;
	money cost; /* all lines */
	money kept; /* the studio's: cost - kept is what members owe together */
	const struct share_line
	    *lines; /* lines, papers, members: as in the order */
	size_t n_lines;
	const struct share_of_paper *papers;
	const money *kept_values; /* for the shelf, for each paper */
	size_t n_papers;
	struct share_pot *pots;
	size_t n_pots;
	struct share_due *members;
	size_t n_members;
	enum ceiling_state ceiling;
	unsigned rounds; /* of the ceiling; 0: nobody was over */
	money excess;    /* taken off those at the ceiling, put on the others */
	area others;     /* torn area of those others */
};

bool share_derive(const struct share_order *order, struct arena *arena,
    struct share_result **out, struct err *err) MUST_USE;

/*
 * The result as JSON and back, so that what was charged can be told years later.  Names as
 * above; amounts in minor units, areas in square units (share_json.c).
 */
void share_result_write(const struct share_result *result, struct text *out);
bool share_result_read(const char *json, size_t len, struct arena *arena,
    struct share_result **out, struct err *err) MUST_USE;

#endif
