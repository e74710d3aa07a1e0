/* SPDX-License-Identifier: MIT */
/*
 * money.c - from layouts and invoices to shares.
 *
 * Cost follows the torn area that was asked for: what a piece is larger than asked (oversize)
 * is the studio's doing and shared by all.  The arithmetic is daemon/share; here its question
 * is put together, and its answer told by paper and member.
 */
#include "money.h"

#include <stdlib.h>

#include "alone.h"

struct making {
	const struct money_facts *facts;
	struct arena *arena;
	struct shares *shares;
	struct share_order order;
	struct share_line *lines;
	struct share_member *members;
};

static struct share_row *row_of(struct shares *s, int64_t member_id)
{
	for (size_t i = 0; i < s->n_items; i++)
		if (s->items[i].member_id == member_id)
			return &s->items[i];
	return NULL;
}

/* ---- members and their areas ---- */

static void add_members(struct making *m)
{
	const struct money_facts *f = m->facts;
	struct shares *s = m->shares;
	size_t n = f->n_balances, p = f->n_layouts;

	s->items = arena_array(m->arena, n + 1, sizeof(*s->items));
	m->members = arena_array(m->arena, n + 1, sizeof(*m->members));
	for (size_t i = 0; i < n; i++) {
		struct share_row *row = &s->items[s->n_items++];

		row->member_id = f->balances[i].member_id;
		row->member_name =
		    arena_strdup(m->arena, f->balances[i].member_name);
		row->charged_minor = f->balances[i].charged_minor;
		row->paid_minor = f->balances[i].paid_minor;
		row->parts = arena_array(m->arena, p + 1, sizeof(*row->parts));
		m->members[i].member_id = row->member_id;
		m->members[i].used = arena_array(m->arena, p + 1, sizeof(area));
	}
	m->order.members = m->members;
	m->order.n_members = n;
}

static void add_areas(struct making *m, size_t at)
{
	const struct layout *l = &m->facts->layouts[at];
	struct shares *s = m->shares;

	for (size_t i = 0; i < l->problem->n_pieces; i++) {
		const struct piece *p = &l->problem->pieces[i];
		struct share_row *row = row_of(s, l->members[i]);
		area a = p->across * p->along * p->count, *used = NULL;

		if (row == NULL) /* everybody with a request takes part */
			continue;
		used = (area *)m->members[row - s->items].used;
		used[at] += a;
		row->sheets += p->count;
		s->papers[at].area_uu += a;
	}
}

static const struct alone *alone_of(const struct plan *plan, int64_t member_id)
{
	for (size_t i = 0; i < plan->n_alone; i++)
		if (strtoll(plan->alone[i].owner, NULL, 10) == member_id)
			return &plan->alone[i];
	return NULL;
}

/* What the sheets of each member would have cost alone, where the plan knows it. */
static void add_alone(struct making *m, size_t i)
{
	const struct money_facts *f = m->facts;
	struct share_alone *alone =
	    arena_array(m->arena, f->n_layouts + 1, sizeof(*alone));

	for (size_t p = 0; p < f->n_layouts; p++) {
		const struct alone *own =
		    alone_of(f->layouts[p].plan, m->members[i].member_id);

		if (m->members[i].used[p] == 0)
			continue;
		if (own == NULL)
			return;
		alone[p] =
		    (struct share_alone){own->price, own->bought, own->kept};
	}
	m->members[i].alone = alone;
}

/* ---- what it costs ---- */

static enum cost_kind cost_kind_of(int64_t line_kind)
{
	switch ((enum line_kind)line_kind) {
	case LINE_ROLLS:
		return COST_ROLLS;
	case LINE_SHIPPING:
		return COST_SHIPPING;
	case LINE_TAX:
		return COST_TAX;
	case LINE_DISCOUNT:
		return COST_DISCOUNT;
	case LINE_OTHER:
		break;
	}
	return COST_OTHER;
}

static void add_line(
    struct making *m, int64_t paper_id, enum cost_kind kind, money amount)
{
	if (amount != 0)
		m->lines[m->order.n_lines++] =
		    (struct share_line){paper_id, kind, amount};
}

/* Stock taken from the shelf has its value in the books; the rest of the plan's price is what
 * is still to be bought. */
static money fresh_price(const struct layout *l)
{
	money price = l->plan->totals.price;

	for (size_t i = 0; i < l->plan->n_rolls; i++) {
		const struct stock *s =
		    &l->problem->stock[l->plan->rolls[i].stock];

		if (!s->fresh && s->available != UNLIMITED)
			price -= s->price;
	}
	return price;
}

static struct share_paper *paper_of(struct shares *s, int64_t paper_id)
{
	for (size_t i = 0; i < s->n_papers; i++)
		if (s->papers[i].paper_id == paper_id)
			return &s->papers[i];
	return NULL;
}

static void add_costs(struct making *m)
{
	const struct money_facts *f = m->facts;
	struct shares *s = m->shares;

	for (size_t i = 0; i < f->n_lines; i++) {
		const struct invoice_line_row *l = &f->lines[i];
		struct share_paper *paper = paper_of(s, l->paper_id);

		add_line(m, paper ? l->paper_id : 0, cost_kind_of(l->kind),
		    l->amount_minor);
		s->invoice_minor += l->amount_minor;
		s->invoiced = true;
		if (paper)
			paper->invoice_minor += l->amount_minor;
		if (paper && l->kind == LINE_ROLLS)
			paper->invoiced = true;
	}
	for (size_t p = 0; p < s->n_papers; p++) {
		money price = fresh_price(&f->layouts[p]);

		if (s->papers[p].invoiced)
			continue;
		add_line(m, s->papers[p].paper_id, COST_ROLLS, price);
		s->papers[p].invoice_minor += price;
		s->estimated_minor += price;
	}
	s->invoice_minor += s->estimated_minor;
	for (size_t i = 0; i < f->n_shelf; i++) {
		add_line(m, f->shelf[i].paper_id, COST_SHELF,
		    f->shelf[i].used_minor);
		s->used_minor += f->shelf[i].used_minor;
	}
}

static void add_papers(struct making *m)
{
	const struct money_facts *f = m->facts;
	struct shares *s = m->shares;
	struct share_of_paper *of =
	    arena_array(m->arena, f->n_layouts + 1, sizeof(*of));

	s->papers = arena_array(m->arena, f->n_layouts + 1, sizeof(*s->papers));
	for (size_t i = 0; i < f->n_layouts; i++) {
		const struct layout *l = &f->layouts[i];
		struct share_paper *paper = &s->papers[s->n_papers++];

		paper->paper_id = l->job->paper_id;
		paper->paper_name = l->job->paper_name;
		paper->cost_minor = l->plan->totals.price;
		s->cost_minor += paper->cost_minor;
		of[i].paper_id = paper->paper_id;
		of[i].planned = paper->cost_minor;
		plan_areas(l->problem, l->plan, &of[i].bought, &of[i].kept);
	}
	m->order.papers = of;
	m->order.n_papers = f->n_layouts;
}

/* ---- the answer ---- */

static struct share_part *part_of(struct share_row *row, int64_t paper_id)
{
	for (size_t i = 0; i < row->n_parts; i++)
		if (row->parts[i].paper_id == paper_id)
			return &row->parts[i];
	row->parts[row->n_parts].paper_id = paper_id;
	return &row->parts[row->n_parts++];
}

static void tell_member(struct making *m, const struct share_due *due)
{
	const struct share_result *r = m->shares->result;
	struct share_row *row = row_of(m->shares, due->member_id);
	money parts = 0;

	for (size_t p = 0; p < m->order.n_papers; p++) {
		area used = m->members[row - m->shares->items].used[p];

		if (used > 0)
			part_of(row, m->order.papers[p].paper_id)->area_uu =
			    used;
	}
	for (size_t i = 0; i < due->n_steps; i++) {
		const struct share_pot *pot = &r->pots[due->steps[i].pot];

		if (pot->by != POT_BY_PAPER)
			continue;
		part_of(row, pot->paper_id)->share_minor += due->steps[i].paid;
		parts += due->steps[i].paid;
	}
	row->share_minor = due->share;
	row->other_minor = due->share - parts;
	m->shares->sum_minor += due->share;
}

static void tell(struct making *m)
{
	const struct share_result *r = m->shares->result;

	for (size_t i = 0; i < r->n_pots; i++)
		if (r->pots[i].by == POT_BY_PAPER)
			paper_of(m->shares, r->pots[i].paper_id)->shared_minor =
			    r->pots[i].amount;
	for (size_t i = 0; i < r->n_members; i++)
		tell_member(m, &r->members[i]);
	m->shares->kept_minor = r->kept;
}

bool money_shares(const struct money_facts *facts, struct arena *arena,
    struct shares **out, struct err *err)
{
	struct making m = {
	    .facts = facts,
	    .arena = arena,
	    .shares = arena_alloc(arena, sizeof(*m.shares)),
	    .order = {.workshop_id = facts->workshop_id, .rules = facts->rules},
	    .lines = arena_array(arena,
		facts->n_lines + facts->n_layouts + facts->n_shelf + 1,
		sizeof(*m.lines)),
	};

	add_papers(&m);
	add_members(&m);
	for (size_t p = 0; p < facts->n_layouts; p++)
		add_areas(&m, p);
	for (size_t i = 0; i < m.order.n_members; i++)
		add_alone(&m, i);
	add_costs(&m);
	m.order.lines = m.lines;
	if (!share_derive(&m.order, arena, &m.shares->result, err))
		return false;
	tell(&m);
	*out = m.shares;
	return true;
}
