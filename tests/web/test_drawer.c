/* SPDX-License-Identifier: MIT */
/*
 * The drawing thread: how much one studio may ask for at once, and that everything comes back.
 */
#include <criterion/criterion.h>

#include <event2/event.h>

#include "drawer.h"
#include "plan.h"
#include "problem.h"

struct hand {
	struct event_base *base;
	int due, good, bad;
};

static void on_drawn(void *ctx, const char *data, size_t len, size_t pages,
    const struct err *err)
{
	struct hand *hand = ctx;

	(void)pages;
	if (err == NULL)
		hand->good += data != NULL && len > 100;
	else
		hand->bad++;
	if (--hand->due == 0)
		event_base_loopbreak(hand->base);
}

static struct problem *problem;
static struct plan *plan;
static struct sheet_paper paper;
static struct sheet_member member = {.name = "Ann"};
static struct sheet_input input = {.studio = "Studio",
    .workshop = "Workshop",
    .papers = &paper,
    .n_papers = 1,
    .members = &member,
    .n_members = 1};
static struct sheet_request request = {.member = 0};

static void make_input(void)
{
	struct plan_job job = {.steps = 100};
	struct err err;

	problem = problem_new(1, 1);
	problem->stock[0] = (struct stock){.name = "roll",
	    .width = 45 * INCH,
	    .length = 10 * YARD,
	    .price = 1,
	    .available = UNLIMITED,
	    .fresh = true};
	problem->pieces[0] = (struct piece){
	    .name = "1", .across = 9 * INCH, .along = 12 * INCH, .count = 3};
	cr_assert(plan_make(problem, &job, &plan, &err), "%s", err.text);
	paper = (struct sheet_paper){.name = "paper",
	    .problem = problem,
	    .plan = plan,
	    .requests = &request};
}

static void free_input(void)
{
	plan_delete(plan);
	problem_delete(problem);
	print_shutdown();
}

/* The loop does not run between the asking: what is drawn meanwhile still counts. */
Test(drawer, one_runs_and_three_wait_for_each_studio)
{
	struct hand hand = {.base = event_base_new()};
	struct drawer *drawer = drawer_new(hand.base, 4);
	struct drawing drawing = {
	    .studio_id = 1, .input = &input, .form = DRAW_PDF};

	make_input();
	for (int i = 0; i < 4; i++)
		cr_assert(
		    drawer_add(drawer, &drawing, on_drawn, &hand), "%d", i);
	cr_assert_not(
	    drawer_add(drawer, &drawing, on_drawn, &hand), "the fifth");
	drawing.studio_id = 2;
	drawing.form = DRAW_TEXT;
	cr_assert(
	    drawer_add(drawer, &drawing, on_drawn, &hand), "another studio");
	hand.due = 5;
	event_base_dispatch(hand.base);
	cr_assert_eq(hand.good, 5);
	cr_assert(drawer_add(drawer, &drawing, on_drawn, &hand),
	    "and then there is room again");
	hand.due = 1;
	event_base_dispatch(hand.base);
	cr_assert_eq(hand.good, 6);
	drawer_delete(drawer);
	event_base_free(hand.base);
	free_input();
}

Test(drawer, a_page_there_is_not_is_missing)
{
	struct hand hand = {.base = event_base_new(), .due = 2};
	struct drawer *drawer = drawer_new(hand.base, 4);
	struct drawing drawing = {
	    .studio_id = 1, .input = &input, .form = DRAW_SVG, .number = 1};

	make_input();
	cr_assert(drawer_add(drawer, &drawing, on_drawn, &hand));
	drawing.number = 999;
	cr_assert(drawer_add(drawer, &drawing, on_drawn, &hand));
	event_base_dispatch(hand.base);
	cr_assert_eq(hand.good, 1);
	cr_assert_eq(hand.bad, 1);
	drawer_delete(drawer);
	event_base_free(hand.base);
	free_input();
}

Test(drawer, ends_with_everybody_told)
{
	struct hand hand = {.base = event_base_new(), .due = 100};
	struct drawer *drawer = drawer_new(hand.base, 4);
	struct drawing drawing = {
	    .studio_id = 1, .input = &input, .form = DRAW_TEXT};

	make_input();
	for (int i = 0; i < 4; i++)
		cr_assert(drawer_add(drawer, &drawing, on_drawn, &hand));
	drawer_delete(drawer);
	cr_assert_eq(
	    hand.due, 96, "all four were told that the server is stopping");
	cr_assert_eq(hand.bad, 4);
	event_base_free(hand.base);
	free_input();
}
