/* SPDX-License-Identifier: MIT */
/* plan.c - a plan is one arena. */
#include "plan.h"
#include "plan_new.h"

#define PLAN_MEMORY ((size_t)2 << 30)

struct plan *plan_new(size_t n_rolls, size_t n_unplaced)
{
	struct arena *arena = arena_new(PLAN_MEMORY);
	struct plan *plan = arena_alloc(arena, sizeof(*plan));

	plan->arena = arena;
	plan->rolls = arena_array(arena, n_rolls, sizeof(*plan->rolls));
	plan->n_rolls = n_rolls;
	plan->unplaced =
	    arena_array(arena, n_unplaced, sizeof(*plan->unplaced));
	plan->n_unplaced = n_unplaced;
	return plan;
}

void plan_delete(struct plan *plan)
{
	if (plan != NULL)
		arena_delete(plan->arena);
}
