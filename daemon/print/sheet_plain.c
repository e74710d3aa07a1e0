/* SPDX-License-Identifier: MIT */
/*
 * sheet_plain.c - a tear sheet without a studio.
 *
 * A problem file knows names and sizes only.  Whoever has the same name in it is the same
 * person; an entry without a name is a person of its own.
 */
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "catalogue.h"
#include "sheet.h"

static bool same_name(const char *a, const char *b)
{
	return a && b && *a && strcmp(a, b) == 0;
}

/* Quadratic in the number of different names: fine for what a person writes by hand. */
static size_t find_members(const struct problem *problem,
    struct sheet_member *members, struct sheet_request *requests)
{
	size_t n = 0;

	for (size_t i = 0; i < problem->n_pieces; i++) {
		size_t m = 0;
		while (m < n &&
		       !same_name(members[m].name, problem->pieces[i].name))
			m++;
		if (m == n)
			members[n++].name = problem->pieces[i].name;
		requests[i].member = m;
	}
	return n;
}

/* Inches when every length of the problem is on a ruler of inches. */
static enum measure_system measure_of(const struct problem *problem)
{
	const length step = INCH / 32;
	bool inches = true;

	for (size_t i = 0; i < problem->n_pieces; i++)
		inches &= length_on_ruler(problem->pieces[i].across, step) &&
			  length_on_ruler(problem->pieces[i].along, step);
	for (size_t i = 0; i < problem->n_stock; i++)
		inches &= length_on_ruler(problem->stock[i].width, step);
	return inches ? MEASURE_INCH : MEASURE_MM;
}

void sheet_text_plain(const struct problem *problem, const struct plan *plan,
    const struct sheet_plain *how, struct text *out)
{
	struct sheet_member *members =
	    xcalloc(problem->n_pieces + 1, sizeof(*members));
	struct sheet_request *requests =
	    xcalloc(problem->n_pieces + 1, sizeof(*requests));
	struct sheet_paper paper = {
	    .problem = problem, .plan = plan, .requests = requests};
	struct sheet_input input = {
	    .system = how->measured ? how->system : measure_of(problem),
	    .language = how->language,
	    .papers = &paper,
	    .n_papers = 1,
	    .members = members};

	catalogue_use(how->language);
	paper.name = _("paper");
	input.n_members = find_members(problem, members, requests);
	struct sheet *sheet = sheet_new(&input);
	sheet_text(sheet, out);
	sheet_delete(sheet);
	free(requests);
	free(members);
}
