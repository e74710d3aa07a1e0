/* SPDX-License-Identifier: MIT */
/*
 * cmd_plan.c - the planner's door: a problem in, a plan out, no server and no database.
 *
 * The planner has no clock, so the time is watched here, from its progress callback: at
 * the end of `seconds`, or on SIGTERM, it is told to stop and gives its best plan with
 * the bounds it has proved.  The plan is written only when the inspector has passed it,
 * and all at once, so that a failure leaves nothing on standard output.
 *
 * --progress is for whoever runs us as a child: one line each time something is better.
 * --proof writes what a reader needs to check the bound on rolls without us.
 */
#include <errno.h>
#include <inttypes.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <time.h>

#include "alloc.h"
#include "alone.h"
#include "cmds.h"
#include "estimate.h"
#include "inspect.h"
#include "plan.h"
#include "sheet.h"

#define READ_CHUNK 65536
#define ALONE_STEPS 20000000 /* of all owners together: seconds */

struct planning {
	const char *file, *proof;
	bool progress, sheet;
	struct sheet_plain plain;
	int64_t begun, deadline; /* milliseconds */
	struct totals best;
	struct bounds bounds;
	bool told; /* a progress line has been written */
};

static volatile sig_atomic_t told_to_stop;

static void on_signal(int signal)
{
	(void)signal;
	told_to_stop = 1;
}

static int64_t now_ms(void)
{
	struct timespec now;

	clock_gettime(CLOCK_MONOTONIC, &now);
	return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static bool is_news(const struct planning *run, const struct totals *best,
    const struct bounds *bounds)
{
	return !run->told || best->fresh_rolls != run->best.fresh_rolls ||
	       best->price != run->best.price ||
	       best->strip_length != run->best.strip_length ||
	       bounds->fresh_rolls != run->bounds.fresh_rolls ||
	       bounds->price != run->bounds.price ||
	       bounds->strip_length != run->bounds.strip_length;
}

static void tell(struct planning *run, const struct totals *best,
    const struct bounds *bounds, int64_t steps)
{
	if (!best || !bounds || !is_news(run, best, bounds))
		return;
	run->best = *best;
	run->bounds = *bounds;
	run->told = true;
	fprintf(stderr,
	    "progress fresh_rolls=%" PRId64 " price=%" PRId64
	    " strip_length=%" PRId64 " bound_rolls=%" PRId64
	    " bound_price=%" PRId64 " bound_length=%" PRId64 " steps=%" PRId64
	    "\n",
	    best->fresh_rolls, best->price, best->strip_length,
	    bounds->fresh_rolls, bounds->price, bounds->strip_length, steps);
}

static bool on_progress(void *ctx, const struct totals *best,
    const struct bounds *bounds, int64_t steps)
{
	struct planning *run = ctx;

	if (run->progress)
		tell(run, best, bounds, steps);
	return !told_to_stop && now_ms() < run->deadline;
}

static bool on_alone(void *ctx, const struct totals *best,
    const struct bounds *bounds, int64_t steps)
{
	(void)ctx;
	(void)best;
	(void)bounds;
	(void)steps;
	return !told_to_stop;
}

/* Half of what we may have: the rest is for libraries and for writing the plan. */
static size_t memory_most(void)
{
	struct rlimit most;

	if (getrlimit(RLIMIT_AS, &most) != 0 || most.rlim_cur == RLIM_INFINITY)
		return 0;
	return (size_t)most.rlim_cur / 2;
}

/* --- reading ------------------------------------------------------------------------ */

static enum exit_status cannot_read(const char *file)
{
	fprintf(
	    stderr, "tearshared: cannot read %s: %s\n", file, strerror(errno));
	return EXIT_NO_INPUT;
}

static enum exit_status read_stream(const char *file, FILE *f, struct text *out)
{
	char *chunk = xmalloc(READ_CHUNK);
	size_t n;

	while (text_fits(out) && (n = fread(chunk, 1, READ_CHUNK, f)) > 0)
		text_add_bytes(out, chunk, n);
	free(chunk);
	if (ferror(f))
		return cannot_read(file);
	if (text_fits(out))
		return EXIT_OK;
	fprintf(stderr, "tearshared: %s: the problem is longer than %d bytes\n",
	    file, PROBLEM_TEXT_MAX);
	return EXIT_MALFORMED;
}

static enum exit_status read_all(const char *file, struct text *out)
{
	enum exit_status status;
	FILE *f;

	if (!strcmp(file, "-"))
		return read_stream("standard input", stdin, out);
	f = fopen(file, "re");
	if (!f)
		return cannot_read(file);
	status = read_stream(file, f, out);
	fclose(f);
	return status;
}

/* "FILE: /pieces/3/across: what"; the reader may know of more. */
static enum exit_status say_malformed(
    const char *file, const struct err *err, const struct text *more)
{
	const char *line = more->data, *end;

	if (!more->len)
		fprintf(stderr, "tearshared: %s: %s%s%s\n", file, err->field,
		    *err->field ? ": " : "", err->text);
	for (; *line; line = *end ? end + 1 : end) {
		end = line + strcspn(line, "\n");
		line +=
		    strncmp(line, ": ", 2) ? 0 : 2; /* no place: the whole */
		fprintf(stderr, "tearshared: %s: %.*s\n", file,
		    (int)(end - line), line);
	}
	if (*err->hint)
		fprintf(stderr, "%s\n", err->hint);
	return EXIT_MALFORMED;
}

static enum exit_status read_problem(const char *file, struct problem **out)
{
	struct text json, more;
	struct err err;
	enum exit_status status;

	text_init(&json, PROBLEM_TEXT_MAX);
	text_init(&more, 65536);
	status = read_all(file, &json);
	if (!status && !problem_read(json.data, json.len, out, &more, &err))
		status = say_malformed(file, &err, &more);
	text_free(&json);
	text_free(&more);
	return status;
}

/* --- writing ------------------------------------------------------------------------ */

/* The certificate has its own file and comes first: a plan that was asked for with its
 * proof is not written without it. */
static enum exit_status write_proof(const char *file, const struct plan *plan)
{
	FILE *f = fopen(file, "we");
	struct text out;
	bool ok;

	text_init(&out, TEAR_SHEET_MAX);
	plan_proof_write(plan, &out);
	ok = f != NULL && text_fits(&out) &&
	     fwrite(out.data, 1, out.len, f) == out.len;
	ok = (f == NULL || fclose(f) == 0) && ok;
	if (!ok)
		fprintf(stderr,
		    "tearshared: could not write the proof to %s: %s\n", file,
		    strerror(errno));
	text_free(&out);
	return ok ? EXIT_OK : EXIT_NO_OUTPUT;
}

static enum exit_status write_plan(const struct planning *run,
    const struct problem *problem, const struct plan *plan)
{
	struct text out;
	bool ok;

	if (run->proof && write_proof(run->proof, plan) != EXIT_OK)
		return EXIT_NO_OUTPUT;

	text_init(&out, PLAN_TEXT_MAX);
	if (run->sheet)
		sheet_text_plain(problem, plan, &run->plain, &out);
	else
		plan_write(plan, now_ms() - run->begun, &out);
	ok = text_fits(&out) &&
	     fwrite(out.data, 1, out.len, stdout) == out.len &&
	     fflush(stdout) == 0;
	if (!text_fits(&out))
		fprintf(stderr,
		    "tearshared: the plan is longer than %zu bytes\n",
		    PLAN_TEXT_MAX);
	else if (!ok)
		fprintf(stderr, "tearshared: could not write the plan: %s\n",
		    strerror(errno));
	text_free(&out);
	if (ok)
		return EXIT_OK;
	return EXIT_NO_OUTPUT;
}

static enum exit_status say_no_plan(const char *file, const struct err *err)
{
	fprintf(stderr, "tearshared: %s: %s%s%s\n", file, err->field,
	    *err->field ? ": " : "", err->text);
	if (*err->hint)
		fprintf(stderr, "%s\n", err->hint);
	return err->kind == ERR_INTERNAL ? EXIT_FAULT : EXIT_NO_PLAN;
}

static enum exit_status make_plan(
    struct planning *run, const struct problem *problem)
{
	const struct plan_job job = {
	    .memory = memory_most(), .progress = on_progress, .ctx = run};
	const struct plan_job alone = {.memory = memory_most(),
	    .steps = ALONE_STEPS,
	    .progress = on_alone};
	struct plan *plan = NULL;
	enum exit_status status;
	struct err err;

	run->deadline = run->begun + problem->milliseconds;
	if (!plan_make(problem, &job, &plan, &err))
		return say_no_plan(run->file, &err);
	plan_add_alone(problem, &alone, &plan);
	if (problem->estimate)
		plan_add_estimate(problem, &alone, plan);
	if (run->progress)
		tell(run, &plan->totals, &plan->bounds, plan->steps);
	if (plan_inspect(problem, plan, &err)) {
		status = write_plan(run, problem, plan);
	} else {
		fprintf(stderr,
		    "tearshared: %s: the plan does not pass the inspector: "
		    "%s\n",
		    run->file, err.text);
		status = EXIT_FAULT;
	}
	plan_delete(plan);
	return status;
}

/* "--measure mm", "--language de": of the sheet. */
static bool read_sheet_word(
    struct planning *run, const char *name, const char *value)
{
	static const char *const measures[] = {"in", "mm", "cm"};

	if (!strcmp(name, "--language")) {
		run->plain.language = value;
		return sheet_speaks(value);
	}
	run->plain.measured = true;
	for (size_t i = 0; i < sizeof(measures) / sizeof(*measures); i++) {
		run->plain.system = (enum measure_system)i;
		if (!strcmp(measures[i], value))
			return true;
	}
	return false;
}

static bool read_words(struct planning *run, int argc, char **argv)
{
	for (int i = 0; i < argc; i++) {
		if (!strcmp(argv[i], "--progress"))
			run->progress = true;
		else if (!strcmp(argv[i], "--sheet"))
			run->sheet = true;
		else if ((!strcmp(argv[i], "--measure") ||
			     !strcmp(argv[i], "--language")) &&
			 i + 1 < argc) {
			if (!read_sheet_word(run, argv[i], argv[i + 1]))
				return false;
			i++;
		} else if (!strcmp(argv[i], "--proof") && i + 1 < argc &&
			   !run->proof)
			run->proof = argv[++i];
		else if ((argv[i][0] == '-' && argv[i][1]) || run->file)
			return false;
		else
			run->file = argv[i];
	}
	return run->file != NULL;
}

enum exit_status cmd_plan(const struct options *o, int argc, char **argv)
{
	struct planning run = {.begun = now_ms()};
	const struct sigaction stop = {.sa_handler = on_signal};
	struct problem *problem = NULL;
	enum exit_status status;

	(void)o;
	if (!read_words(&run, argc, argv)) {
		fputs("usage: tearshared plan [--progress] [--proof FILE] "
		      "[--sheet [--measure in|mm|cm] [--language en|de]] "
		      "FILE|-\n",
		    stderr);
		return EXIT_USAGE_LINE;
	}
	sigaction(SIGTERM, &stop, NULL);
	setvbuf(stderr, NULL, _IOLBF, 0);
	status = read_problem(run.file, &problem);
	if (!status)
		status = make_plan(&run, problem);
	problem_delete(problem);
	return status;
}
