/* SPDX-License-Identifier: MIT */
/*
 * order.c - what an order may say, checked at the door.
 *
 * The absolute amounts of all lines together and the areas of all members together fit
 * their types, so no sum further in can overflow, and products of the two fit 128 bits.
 */
#include "derive.h"

#include <inttypes.h>
#include <string.h>

#include "deriving.h"

struct share_rules share_rules_usual(enum share_policy policy)
{
	return (struct share_rules){
	    .policy = policy, .ceiling = policy == SHARE_ORDER};
}

static const char *const policy_names[] = {"order", "torn"};
static const char *const kind_names[] = {
    "rolls", "shelf", "shipping", "tax", "discount", "other"};
static const char *const ceiling_names[] = {
    "off", "kept", "unknown", "too-low"};

#define N(names) (sizeof(names) / sizeof(*(names)))

static bool read_name(
    const char *name, const char *const names[], size_t n, unsigned *out)
{
	for (unsigned i = 0; i < n; i++)
		if (strcmp(names[i], name) == 0) {
			*out = i;
			return true;
		}
	return false;
}

const char *share_policy_name(enum share_policy policy)
{
	return policy_names[policy];
}

bool share_policy_read(const char *name, enum share_policy *out)
{
	unsigned i = 0;
	bool ok = read_name(name, policy_names, N(policy_names), &i);
	*out = (enum share_policy)i;
	return ok;
}

const char *cost_kind_name(enum cost_kind kind)
{
	return kind_names[kind];
}

bool cost_kind_read(const char *name, enum cost_kind *out)
{
	unsigned i = 0;
	bool ok = read_name(name, kind_names, N(kind_names), &i);
	*out = (enum cost_kind)i;
	return ok;
}

const char *ceiling_state_name(enum ceiling_state state)
{
	return ceiling_names[state];
}

/* ---- at the door ---- */

static bool in_cost_range(money m)
{
	return m >= -SHARE_COST_MAX && m <= SHARE_COST_MAX;
}

static bool check_lines(const struct share_order *o, struct err *err)
{
	wide sum = 0;
	for (size_t i = 0; i < o->n_lines; i++) {
		const struct share_line *line = &o->lines[i];
		bool found = line->paper_id == 0;
		for (size_t p = 0; p < o->n_papers && !found; p++)
			found = o->papers[p].paper_id == line->paper_id;
		if (!found)
			return err_set(err, ERR_INPUT,
			    "a line of cost names paper %" PRId64
			    ", which is not in the order",
			    line->paper_id);
		sum += line->amount < 0 ? -(wide)line->amount : line->amount;
	}
	if (sum > SHARE_COST_MAX)
		return err_set(err, ERR_INPUT,
		    "the lines of cost together are above %" PRId64
		    " minor units",
		    SHARE_COST_MAX);
	return true;
}

static bool check_papers(const struct share_order *o, struct err *err)
{
	for (size_t i = 0; i < o->n_papers; i++) {
		const struct share_of_paper *p = &o->papers[i];
		if (p->planned < 0 || !in_cost_range(p->planned))
			return err_set(err, ERR_INPUT,
			    "the planned price %" PRId64 " of paper %" PRId64
			    " is out of range",
			    p->planned, p->paper_id);
		if (p->kept < 0 || p->bought < p->kept)
			return err_set(err, ERR_INPUT,
			    "of paper %" PRId64 " more is kept than was bought",
			    p->paper_id);
		for (size_t k = 0; k < i; k++)
			if (o->papers[k].paper_id == p->paper_id)
				return err_set(err, ERR_INPUT,
				    "paper %" PRId64 " is there twice",
				    p->paper_id);
	}
	return true;
}

static bool check_alone(const struct share_member *m, size_t p, struct err *err)
{
	const struct share_alone *a = &m->alone[p];
	if (a->price < 0 || !in_cost_range(a->price) || a->kept < 0 ||
	    a->bought < a->kept)
		return err_set(err, ERR_INPUT,
		    "the stand-alone plan of member %" PRId64
		    " is out of range",
		    m->member_id);
	return true;
}

static bool check_members(const struct share_order *o, struct err *err)
{
	wide total = 0;
	for (size_t i = 0; i < o->n_members; i++) {
		const struct share_member *m = &o->members[i];
		for (size_t p = 0; p < o->n_papers; p++) {
			if (m->used[p] < 0)
				return err_set(err, ERR_INPUT,
				    "the area of member %" PRId64
				    " is negative",
				    m->member_id);
			total += m->used[p];
			if (m->alone && !check_alone(m, p, err))
				return false;
		}
	}
	if (total <= 0)
		return err_set(err, ERR_INPUT,
		    "no area was torn, so there is nothing to share by");
	if (total > INT64_MAX)
		return err_set(
		    err, ERR_INPUT, "the areas together are too large");
	return true;
}

static bool check_size(const struct share_order *o, struct err *err)
{
	if (o->n_members > SHARE_MEMBERS_MAX)
		return err_set(err, ERR_INPUT,
		    "%zu members are too many to share between (%d at most)",
		    o->n_members, SHARE_MEMBERS_MAX);
	if (o->n_papers > SHARE_PAPERS_MAX)
		return err_set(err, ERR_INPUT,
		    "%zu papers are too many (%d at most)", o->n_papers,
		    SHARE_PAPERS_MAX);
	if (o->n_lines > SHARE_LINES_MAX)
		return err_set(err, ERR_INPUT,
		    "%zu lines of cost are too many (%d at most)", o->n_lines,
		    SHARE_LINES_MAX);
	return true;
}

bool order_check(const struct share_order *order, struct err *err)
{
	return check_size(order, err) && check_lines(order, err) &&
	       check_papers(order, err) && check_members(order, err);
}
