/* SPDX-License-Identifier: MIT */
/*
 * money.c - shares, paper by paper.
 *
 * Cost follows the torn area that was asked for: what a piece is larger than asked (oversize)
 * is the studio's doing and shared by all.  Each paper is split on its own, since its cost is
 * another; a member's share is the sum over the papers.
 */
#include "money.h"

#include <jansson.h>

#include "split.h"

static struct share_row *row_of(struct shares *s, int64_t member_id)
{
	for (size_t i = 0; i < s->n_items; i++)
		if (s->items[i].member_id == member_id)
			return &s->items[i];
	return NULL;
}

static struct share_part *part_of(struct share_row *row, int64_t paper_id)
{
	for (size_t i = 0; i < row->n_parts; i++)
		if (row->parts[i].paper_id == paper_id)
			return &row->parts[i];
	row->parts[row->n_parts].paper_id = paper_id;
	return &row->parts[row->n_parts++];
}

static void add_rows(struct arena *arena, struct shares *s,
    const struct balance_row *balances, size_t n_balances, size_t n_papers)
{
	s->items = arena_array(arena, n_balances + 1, sizeof(*s->items));
	for (size_t i = 0; i < n_balances; i++) {
		struct share_row *row = &s->items[s->n_items++];

		row->member_id = balances[i].member_id;
		row->member_name = arena_strdup(arena, balances[i].member_name);
		row->charged_minor = balances[i].charged_minor;
		row->paid_minor = balances[i].paid_minor;
		row->parts =
		    arena_array(arena, n_papers + 1, sizeof(*row->parts));
	}
}

static void add_areas(
    struct shares *s, struct share_paper *paper, const struct layout *l)
{
	for (size_t i = 0; i < l->problem->n_pieces; i++) {
		const struct piece *p = &l->problem->pieces[i];
		struct share_row *row = row_of(s, l->members[i]);
		area a = p->across * p->along * p->count;

		if (row == NULL) /* everybody with a request takes part */
			continue;
		part_of(row, paper->paper_id)->area_uu += a;
		row->sheets += p->count;
		paper->area_uu += a;
	}
}

/* The invoice entered for a paper, when there is one. */
static void find_invoice(struct share_paper *paper, const char *parts)
{
	json_t *list = parts == NULL ? NULL : json_loads(parts, 0, NULL),
	       *part = NULL;
	size_t i = 0;

	json_array_foreach(list, i, part)
	{
		if (json_integer_value(json_object_get(part, "paper_id")) !=
		    paper->paper_id)
			continue;
		paper->invoiced = true;
		paper->invoice_minor =
		    json_integer_value(json_object_get(part, "amount_minor"));
	}
	json_decref(list);
}

static void split_paper(struct arena *arena, struct shares *s,
    const struct share_paper *paper, int64_t workshop_id)
{
	size_t n = 0;
	area *used = arena_array(arena, s->n_items + 1, sizeof(*used));
	uint64_t *tie = arena_array(arena, s->n_items + 1, sizeof(*tie));
	money *due = arena_array(arena, s->n_items + 1, sizeof(*due));
	struct share_part **parts =
	    arena_array(arena, s->n_items + 1, sizeof(*parts));

	for (size_t i = 0; i < s->n_items; i++) {
		for (size_t k = 0; k < s->items[i].n_parts; k++) {
			if (s->items[i].parts[k].paper_id != paper->paper_id)
				continue;
			parts[n] = &s->items[i].parts[k];
			used[n] = parts[n]->area_uu;
			tie[n++] =
			    share_tie(workshop_id, s->items[i].member_id);
		}
	}
	if (n == 0)
		return;
	share_split(paper->invoiced ? paper->invoice_minor : paper->cost_minor,
	    used, tie, n, due);
	for (size_t i = 0; i < n; i++)
		parts[i]->share_minor = due[i];
}

static void add_up(struct shares *s)
{
	for (size_t i = 0; i < s->n_papers; i++) {
		const struct share_paper *p = &s->papers[i];

		s->cost_minor += p->cost_minor;
		s->invoiced = s->invoiced || p->invoiced;
		s->invoice_minor +=
		    p->invoiced ? p->invoice_minor : p->cost_minor;
	}
	for (size_t i = 0; i < s->n_items; i++) {
		for (size_t k = 0; k < s->items[i].n_parts; k++)
			s->items[i].share_minor +=
			    s->items[i].parts[k].share_minor;
		s->sum_minor += s->items[i].share_minor;
	}
}

struct shares *money_shares(struct arena *arena, int64_t workshop_id,
    const struct layout *layouts, size_t n_layouts, const char *parts,
    const struct balance_row *balances, size_t n_balances)
{
	struct shares *s = arena_alloc(arena, sizeof(*s));

	s->papers = arena_array(arena, n_layouts + 1, sizeof(*s->papers));
	add_rows(arena, s, balances, n_balances, n_layouts);
	for (size_t i = 0; i < n_layouts; i++) {
		struct share_paper *paper = &s->papers[s->n_papers++];

		paper->paper_id = layouts[i].job->paper_id;
		paper->paper_name = layouts[i].job->paper_name;
		paper->cost_minor = layouts[i].plan->totals.price;
		find_invoice(paper, parts);
		add_areas(s, paper, &layouts[i]);
		split_paper(arena, s, paper, workshop_id);
	}
	add_up(s);
	return s;
}
