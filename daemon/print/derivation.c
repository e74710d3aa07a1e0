/* SPDX-License-Identifier: MIT */
/*
 * derivation.c - a share, line by line to the cent.
 *
 * Every row is a sum that a reader can do again: what was bought, what the studio keeps, the
 * member's part of the rest with its exact quotient, which way it was rounded, and what the
 * ceiling did.  The figures are those of daemon/share; nothing is reckoned here.
 */
#include "statement.h"

#include "catalogue.h"

struct telling {
	struct folio *folio;
	const struct share_result *result;
	const struct share_due *due;
	const struct paper_name *papers;
	size_t n_papers;
	const struct manner *manner;
	struct arena *arena;
};

static const char *cash(const struct telling *t, money m)
{
	return amount_money(t->arena, t->manner, m);
}

static void row(
    const struct telling *t, bool total, const char *what, money amount)
{
	folio_row(
	    t->folio, total, (const char *const[]){what, cash(t, amount)});
}

static const char *paper_name(const struct telling *t, int64_t paper_id)
{
	for (size_t i = 0; i < t->n_papers; i++)
		if (t->papers[i].paper_id == paper_id)
			return t->papers[i].name;
	return arena_printf(t->arena, _("paper %lld"), (long long)paper_id);
}

static const char *kind_words(enum cost_kind kind)
{
	switch (kind) {
	case COST_ROLLS:
		return _("rolls and sheets");
	case COST_SHELF:
		return _("paper from the shelf");
	case COST_SHIPPING:
		return _("shipping");
	case COST_TAX:
		return _("tax");
	case COST_DISCOUNT:
		return _("discount");
	case COST_OTHER:
		return _("other");
	}
	return "";
}

static const char *pot_name(
    const struct telling *t, const struct share_pot *pot)
{
	switch (pot->by) {
	case POT_BY_PAPER:
		return paper_name(t, pot->paper_id);
	case POT_BY_AREA:
		return _("All papers");
	case POT_EACH:
		return _("In equal parts");
	}
	return "";
}

static void tell_lines(const struct telling *t, const struct share_pot *pot)
{
	const char *name = pot_name(t, pot);

	for (size_t i = 0; i < pot->n_lines; i++) {
		const struct share_line *line =
		    &t->result->lines[pot->lines[i]];
		row(t, false,
		    arena_printf(
			t->arena, "%s: %s", name, kind_words(line->kind)),
		    line->amount);
	}
	if (pot->kept != 0)
		row(t, false,
		    arena_printf(t->arena,
			_("%s: kept by the studio, on its shelf"), name),
		    -pot->kept);
	if (pot->n_lines > 1 || pot->kept != 0)
		row(t, false,
		    arena_printf(t->arena, _("%s: to be shared"), name),
		    pot->amount);
}

static const char *rounding(const struct share_step *step)
{
	if (step->odd)
		return _(", cut off, and the odd unit");
	return step->rest != 0 ? _(", cut off") : "";
}

static const char *of_all(
    const struct telling *t, const struct share_pot *pot, area a)
{
	return pot->by == POT_EACH
		   ? arena_printf(t->arena, "%lld", (long long)a)
		   : amount_area(t->arena, t->manner, a);
}

static void tell_step(const struct telling *t, const struct share_step *step)
{
	const struct share_pot *pot = &t->result->pots[step->pot];

	tell_lines(t, pot);
	row(t, true,
	    arena_printf(t->arena, _("Your part: %s x %s / %s = %s%s"),
		cash(t, pot->amount), of_all(t, pot, step->own),
		of_all(t, pot, pot->total),
		amount_exact(
		    t->arena, t->manner, pot->amount, step->own, pot->total),
		rounding(step)),
	    step->paid);
}

/* ---- the ceiling ---- */

static void tell_alone(const struct telling *t)
{
	const struct share_due *due = t->due;

	for (size_t i = 0; due->ceilings != NULL && i < t->result->n_papers;
	     i++) {
		const struct share_ceiling *c = &due->ceilings[i];
		const char *name = paper_name(t, t->result->papers[i].paper_id);
		if (c->price == 0 && c->kept == 0)
			continue;
		row(t, false,
		    arena_printf(t->arena, _("Your sheets alone: %s"), name),
		    c->price);
		if (c->kept != 0)
			row(t, false,
			    arena_printf(t->arena,
				_("Your sheets alone: %s, kept by the studio"),
				name),
			    -c->kept);
	}
	if (due->alone_common != 0)
		row(t, false, _("Your sheets alone: what all papers share"),
		    due->alone_common);
	row(t, true, _("Your sheets alone would have cost"), due->alone);
}

static void tell_ceiling(const struct telling *t)
{
	const struct share_result *r = t->result;
	const struct share_due *due = t->due;
	const struct share_step *raised = &due->raised;

	if (due->round > 0) {
		row(t, false, _("Nobody pays more than that: taken off"),
		    due->alone - due->base);
	} else if (raised->paid != 0 || raised->own != 0) {
		row(t, false,
		    arena_printf(t->arena,
			_("Your part of what was taken off others: %s x %s / "
			  "%s = %s%s"),
			cash(t, r->excess),
			amount_area(t->arena, t->manner, raised->own),
			amount_area(t->arena, t->manner, r->others),
			amount_exact(t->arena, t->manner, r->excess,
			    raised->own, r->others),
			rounding(raised)),
		    raised->paid);
	}
}

static void tell_state(const struct telling *t)
{
	if (t->result->ceiling == CEILING_UNKNOWN)
		folio_text(t->folio,
		    _("What each member's sheets alone would have cost is not "
		      "known, so no share is limited to it."));
	if (t->result->ceiling == CEILING_TOO_LOW)
		folio_text(t->folio,
		    _("The order cost more than everybody's sheets alone "
		      "together, so no share is limited to that."));
}

void derivation_table(struct folio *folio, const struct share_result *result,
    const struct share_due *due, const struct paper_name *papers,
    size_t n_papers, const struct manner *manner)
{
	struct telling t = {
	    folio, result, due, papers, n_papers, manner, folio->arena};

	folio_table(folio, _("How your share is reckoned"),
	    (const struct folio_column[]){
		{_("Line by line"), false}, {_("Amount"), true}, {0}});
	for (size_t i = 0; i < due->n_steps; i++)
		tell_step(&t, &due->steps[i]);
	if (due->n_steps > 1)
		row(&t, true, _("Together"), due->base);
	if (due->has_alone)
		tell_alone(&t);
	if (result->ceiling == CEILING_KEPT)
		tell_ceiling(&t);
	row(&t, true, _("Your share"), due->share);
	tell_state(&t);
}
