/* SPDX-License-Identifier: MIT */
/*
 * plan: start planning, watch it, show what was found and what is proven.
 *
 * The server plans whether or not anybody watches; Ctrl-C ends only the watching.
 */
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "cli_columns.h"
#include "command.h"
#include "find.h"
#include "measure.h"
#include "reach.h"
#include "status.h"

/* "Cold press: 2 rolls, 9 ft of strips; at least 2 rolls" */
static void describe_job(struct text *line, const json_t *job)
{
	text_addf(line, "%.40s: %s", reach_text(job, "paper"),
	    reach_text(job, "state"));
	if (reach(job, "best/fresh_rolls"))
		text_addf(line, ", %lld fresh rolls, %s of strips",
		    (long long)reach_int(job, "best/fresh_rolls"),
		    reach_text(job, "best/strip_length/text"));
	if (reach(job, "bound/fresh_rolls"))
		text_addf(line, " (at least %lld)",
		    (long long)reach_int(job, "bound/fresh_rolls"));
}

static char *describe_progress(const json_t *plan)
{
	struct text line;
	size_t i;
	const json_t *job;
	text_init(&line, 400);
	json_array_foreach(json_object_get(plan, "jobs"), i, job)
	{
		text_add(&line, i ? "; " : "");
		describe_job(&line, job);
	}
	char *s = text_take(&line);
	text_clean(s);
	return s;
}

static bool is_working(const json_t *plan)
{
	return strcmp(reach_text(plan, "state"), "working") == 0;
}

static void pause_ms(long ms)
{
	struct timespec t = {ms / 1000, ms % 1000 * 1000000};
	nanosleep(&t, NULL);
}

/* Until the plan is no longer worked on; each new line of progress is shown once. */
static bool watch(struct call *call, json_t **plan, struct err *err)
{
	char *shown = NULL;
	long ms = 100;
	bool ok = true;
	while (ok && is_working(*plan)) {
		char *line = describe_progress(*plan);
		if (!shown || strcmp(line, shown) != 0) {
			text_shorten(line, call->pen.width - 1);
			call_progress(call, line);
		}
		free(shown);
		shown = line;
		pause_ms(ms);
		ms = ms < 1000 ? ms + 100 : ms;
		json_t *next = NULL;
		ok = call_get(call, &next, err, "/v1/plans/%lld",
		    (long long)reach_int(*plan, "id"));
		if (ok) {
			json_decref(*plan);
			*plan = next;
		}
	}
	free(shown);
	call_progress(call, "");
	return ok;
}

static const char *whether(bool proven)
{
	return proven ? "proven: no plan can do with less"
		      : "not proven: another plan may do with less";
}

/* What was found, each line with its proof. */
static void show_totals(struct call *call, const json_t *plan)
{
	char price[MONEY_TEXT_MAX];
	FILE *out = call->pen.out;
	fprintf(out, "Plan %lld (code %.8s) is %.20s.\n",
	    (long long)reach_int(plan, "id"), reach_text(plan, "check_code"),
	    reach_text(plan, "state"));
	if (!json_is_object(reach(plan, "totals")))
		return;
	fprintf(out, "fresh rolls  %-16lld %s\n",
	    (long long)reach_int(plan, "totals/fresh_rolls"),
	    whether(reach_true(plan, "proven/fresh_rolls")));
	fprintf(out, "price        %-16s %s\n",
	    money_print(price, reach_int(plan, "totals/price_minor"),
		reach_text(plan, "currency")),
	    whether(reach_true(plan, "proven/price")));
	fprintf(out, "strips       %-16.40s %s\n",
	    reach_text(plan, "totals/strip_length/text"),
	    whether(reach_true(plan, "proven/strip_length")));
	fprintf(out, "tears        %lld\n",
	    (long long)reach_int(plan, "totals/tears"));
	if (reach_int(plan, "totals/unplaced"))
		fprintf(out, "unplaced     %lld sheets have no paper\n",
		    (long long)reach_int(plan, "totals/unplaced"));
}

static void show_plan(struct call *call, const json_t *plan)
{
	if (!call_for_people(call)) {
		call_show(call, plan);
		return;
	}
	show_totals(call, plan);
	json_t *jobs = json_object_get(plan, "jobs");
	if (json_array_size(jobs) < 2 && json_is_object(reach(plan, "totals")))
		return;
	fputc('\n', call->pen.out);
	table_write(&call->pen, columns_job, jobs);
}

/* The reason a job gives for its failure. */
static bool tell_failure(const json_t *plan, struct err *err)
{
	size_t i;
	const json_t *job;
	const char *state = reach_text(plan, "state");
	if (strcmp(state, "failed") != 0)
		return strcmp(state, "cancelled") != 0 ||
		       err_set(err, ERR_CONFLICT, "planning was cancelled");
	err_set(err, ERR_INTERNAL, "planning failed");
	json_array_foreach(json_object_get(plan, "jobs"), i,
	    job) if (*reach_text(job, "reason"))
	    err_set(err, ERR_CONFLICT, "planning failed for %.60s: %.300s",
		reach_text(job, "paper"), reach_text(job, "reason"));
	text_clean(err->text);
	return false;
}

bool cmd_plan(struct call *call, struct err *err)
{
	int64_t workshop;
	json_t *plan = NULL;
	bool ok = find_workshop_id(call, call_word(call, 0), "closed planned",
		      &workshop, err) &&
		  call_post(call, json_object(), &plan, err,
		      "/v1/workshops/%lld/plans", (long long)workshop);
	if (ok && !call_option(call, "no-wait"))
		ok = watch(call, &plan, err) && tell_failure(plan, err);
	if (ok)
		show_plan(call, plan);
	if (ok && call_for_people(call) &&
	    strcmp(reach_text(plan, "state"), "ready") == 0)
		call_say(call, "To tear by it: tearshare accept %lld",
		    (long long)reach_int(plan, "id"));
	json_decref(plan);
	return ok;
}

bool cmd_plan_list(struct call *call, struct err *err)
{
	int64_t workshop;
	json_t *list = NULL;
	bool ok = find_workshop_id(call, call_word(call, 0),
		      "closed planned torn", &workshop, err) &&
		  call_list(call, &list, err, "/v1/workshops/%lld/plans",
		      (long long)workshop);
	if (ok)
		call_show_list(call, list, "There is no plan yet.");
	json_decref(list);
	return ok;
}

bool cmd_plan_show(struct call *call, struct err *err)
{
	json_t *plan = NULL;
	bool ok = find_plan(call, call_word(call, 0), &plan, err);
	if (ok)
		show_plan(call, plan);
	json_decref(plan);
	return ok;
}

/* The paper of --paper, or the plan's only one. */
static bool paper_of_plan(
    struct call *call, const json_t *plan, int64_t *paper, struct err *err)
{
	const char *name = call_option(call, "paper");
	const json_t *jobs = json_object_get(plan, "jobs");
	if (name)
		return find_paper(call, name, NULL, paper, err);
	*paper = reach_int(json_array_get(jobs, 0), "paper_id");
	if (json_array_size(jobs) == 1)
		return true;
	cli_fail(err, CLI_USAGE, "the plan has several papers");
	return err_hint(err, "Say which with -p.");
}

bool cmd_plan_layout(struct call *call, struct err *err)
{
	int64_t paper;
	json_t *plan = NULL, *layout = NULL;
	bool ok =
	    find_plan(call, call_word(call, 0), &plan, err) &&
	    paper_of_plan(call, plan, &paper, err) &&
	    call_get(call, &layout, err, "/v1/plans/%lld/layout?paper=%lld",
		(long long)reach_int(plan, "id"), (long long)paper);
	if (ok)
		json_write(call->pen.out, layout);
	json_decref(plan);
	json_decref(layout);
	return ok;
}

static bool step(struct call *call, const char *what, struct err *err)
{
	json_t *plan = NULL, *changed = NULL;
	bool ok =
	    find_plan(call, call_word(call, 0), &plan, err) &&
	    call_post(call, json_object(), &changed, err, "/v1/plans/%lld/%s",
		(long long)reach_int(plan, "id"), what);
	if (ok)
		show_plan(call, changed);
	json_decref(plan);
	json_decref(changed);
	return ok;
}

bool cmd_plan_cancel(struct call *call, struct err *err)
{
	return step(call, "cancel", err);
}

bool cmd_accept(struct call *call, struct err *err)
{
	return step(call, "accept", err);
}
