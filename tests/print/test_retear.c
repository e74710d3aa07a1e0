/* SPDX-License-Identifier: MIT */
/*
 * The printed steps, carried out on blank rolls, give exactly the pieces of the plan: each of
 * its size, at its place, with its owner's code.
 */
#include <criterion/criterion.h>

#include "case.h"
#include "made.h"
#include "retear.h"

static int by_place(const void *a, const void *b)
{
	const struct torn *p = a, *q = b;
	if (p->roll != q->roll)
		return p->roll < q->roll ? -1 : 1;
	if (p->y != q->y)
		return p->y < q->y ? -1 : 1;
	return p->x < q->x ? -1 : p->x > q->x;
}

/* The pieces as the plan has them, with codes as the input gives them. */
static struct torn *planned(const struct sheet_input *input, size_t *n)
{
	size_t room = 0, number = 0;
	struct torn *list = NULL;
	*n = 0;
	for (size_t i = 0; i < input->n_papers; i++) {
		const struct sheet_paper *paper = &input->papers[i];
		for (size_t r = 0; r < paper->plan->n_rolls; r++) {
			const struct roll *roll = &paper->plan->rolls[r];
			number++;
			for (size_t s = 0; s < roll->n_strips; s++) {
				for (size_t g = 0;
				     g < roll->strips[s].n_segments; g++) {
					const struct segment *segment =
					    &roll->strips[s].segments[g];
					for (size_t k = 0;
					     k < segment->n_pieces; k++) {
						const struct placed *p =
						    &segment->pieces[k];
						if (*n == room) {
							room = room ? 2 * room
								    : 64;
							list =
							    xrealloc(list, room,
								sizeof(*list));
						}
						struct torn *t = &list[(*n)++];
						*t = (struct torn){number,
						    segment->at,
						    roll->strips[s].at + p->at,
						    p->across, p->along, ""};
						size_t member =
						    paper->requests
							? paper
							      ->requests
								  [p->piece]
							      .member
							: p->piece;
						char code[SHEET_CODE_MAX];
						snprintf(t->code,
						    sizeof(t->code), "%s",
						    sheet_code(code, member,
							input->n_members));
					}
				}
			}
		}
	}
	return list;
}

/* "" when the text gives the plan; else what is wrong. */
static void compare(
    const struct sheet_input *input, const char *text, char fault[static 320])
{
	struct retear *t = xcalloc(1, sizeof(*t));
	size_t n;
	struct torn *want = planned(input, &n);

	retear(t, text);
	fault[0] = '\0';
	if (t->fault[0])
		snprintf(fault, 320, "%s", t->fault);
	else if (t->n_torn != n)
		snprintf(
		    fault, 320, "%zu pieces torn, %zu planned", t->n_torn, n);
	if (!fault[0] && n > 0) {
		qsort(want, n, sizeof(*want), by_place);
		qsort(t->torn, n, sizeof(*t->torn), by_place);
	}
	for (size_t i = 0; i < n && !fault[0]; i++) {
		const struct torn *a = &want[i], *b = &t->torn[i];
		if (a->roll != b->roll || a->x != b->x || a->y != b->y ||
		    a->across != b->across || a->along != b->along ||
		    strcmp(a->code, b->code))
			snprintf(fault, 320,
			    "roll %zu: planned %s at %lld,%lld, torn %s at "
			    "%lld,%lld",
			    a->roll, a->code, (long long)a->x, (long long)a->y,
			    b->code, (long long)b->x, (long long)b->y);
	}
	free(want);
	free(t->torn);
	free(t);
}

static char *print(const struct sheet_input *input)
{
	struct text out;
	struct sheet *sheet = sheet_new(input);
	text_init(&out, TEAR_SHEET_MAX);
	sheet_text(sheet, &out);
	cr_assert(text_fits(&out));
	sheet_delete(sheet);
	return text_take(&out);
}

static void retear_case(const char *folder)
{
	struct print_case c;
	char fault[320];
	case_read(&c, folder);
	char *text = print(&c.input);
	compare(&c.input, text, fault);
	cr_expect_str_empty(fault, "%s: %s", folder, fault);
	free(text);
	case_free(&c);
}

Test(retear, a_class_with_a_roll_end_comes_out_as_planned)
{
	retear_case(SOURCE_DIR "/tests/golden/first-class");
}

Test(retear, two_papers_and_larger_pieces_come_out_as_planned)
{
	retear_case(SOURCE_DIR "/tests/golden/two-papers");
}

Test(retear, flat_sheets_begun_either_way_come_out_as_planned)
{
	retear_case(SOURCE_DIR "/tests/golden/flat-sheets");
}

Test(retear, made_up_plans_come_out_as_planned)
{
	for (uint64_t seed = 1; seed <= 300; seed++) {
		struct made m;
		char fault[320];
		made_new(&m, seed);
		m.input.both = seed % 2; /* remarks stand between the steps */
		char *text = print(&m.input);
		compare(&m.input, text, fault);
		cr_expect_str_empty(
		    fault, "seed %llu: %s", (unsigned long long)seed, fault);
		free(text);
		made_delete(&m);
	}
}

/* A test that cannot fail proves nothing: one changed mark, one changed code, one lost line. */
Test(retear, a_wrong_sheet_is_noticed)
{
	struct print_case c;
	char fault[320];
	static const char *const wrong[][2] = {
	    {"27 in ", "26 in "},
	    {"A  piece 9 x 12 1/2 in", "C  piece 9 x 12 1/2 in"},
	    {"[ ] strip 2: D", "[ ] strip 2: E"},
	    {"23  7 in ", "23  6 in "},
	    {"200 mm         ", "201 mm         "},
	    {"[ ]    5", "[ ]    6"},
	};
	case_read(&c, SOURCE_DIR "/tests/golden/first-class");
	for (size_t i = 0; i < sizeof(wrong) / sizeof(wrong[0]); i++) {
		char *text = print(&c.input);
		char *at = strstr(text, wrong[i][0]);
		cr_assert_not_null(at, "%s", wrong[i][0]);
		memcpy(at, wrong[i][1], strlen(wrong[i][1]));
		compare(&c.input, text, fault);
		cr_expect(fault[0], "\"%s\" for \"%s\" was not noticed",
		    wrong[i][1], wrong[i][0]);
		free(text);
	}
	case_free(&c);
}

Test(retear, no_line_is_wider_than_80_columns)
{
	for (uint64_t seed = 1; seed <= 60; seed++) {
		struct made m;
		made_new(&m, seed);
		m.input.both = seed % 2; /* remarks stand between the steps */
		char *text = print(&m.input);
		for (const char *s = text; *s; s += strcspn(s, "\n") + 1)
			cr_expect(strcspn(s, "\n") <= 80, "seed %llu: %.100s",
			    (unsigned long long)seed, s);
		free(text);
		made_delete(&m);
	}
}
