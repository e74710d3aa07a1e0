/* SPDX-License-Identifier: MIT */
#include <criterion/criterion.h>
#include <jansson.h>

#include "case.h"
#include "inspect.h"
#include "made.h"
#include "picture.h"
#include "screen.h"
#include "sheet_model.h"

static char *form(const struct sheet_input *input,
    void (*print)(const struct sheet *, struct text *))
{
	struct sheet *sheet = sheet_new(input);
	struct text out;
	text_init(&out, TEAR_SHEET_MAX);
	print(sheet, &out);
	cr_assert(text_fits(&out));
	sheet_delete(sheet);
	return text_take(&out);
}

/* The sheet has as many tears as the inspector counts in the plan, who knows no sheet. */
Test(sheet, has_the_tears_of_the_plan)
{
	static const char *const cases[] = {"first-class", "two-papers"};
	for (size_t i = 0; i < 2; i++) {
		char folder[4096];
		struct print_case c;
		int64_t tears = 0;
		snprintf(folder, sizeof(folder), SOURCE_DIR "/tests/golden/%s",
		    cases[i]);
		case_read(&c, folder);
		struct sheet *sheet = sheet_new(&c.input);
		for (size_t p = 0; p < c.input.n_papers; p++) {
			struct totals totals;
			plan_count(c.problems[p], c.plans[p], &totals);
			tears += totals.tears;
		}
		cr_expect_eq(sheet->n_tears, tears,
		    "%s: %lld, the inspector counts %lld", cases[i],
		    (long long)sheet->n_tears, (long long)tears);
		sheet_delete(sheet);
		case_free(&c);
	}
}

Test(sheet, check_code_changes_with_the_plan)
{
	struct made m;
	char before[SHEET_CHECK_MAX], after[SHEET_CHECK_MAX];
	made_new(&m, 7);
	sheet_check(before, &m.input);
	sheet_check(after, &m.input);
	cr_expect_str_eq(before, after);
	m.plan->rolls[0].strips[0].height++;
	cr_expect_str_neq(before, sheet_check(after, &m.input));
	made_delete(&m);
}

Test(sheet, json_has_the_same_steps_as_the_text)
{
	for (uint64_t seed = 1; seed <= 20; seed++) {
		struct made m;
		json_error_t error;
		made_new(&m, seed);
		char *text = form(&m.input, sheet_text),
		     *s = form(&m.input, sheet_json);
		json_t *json = json_loads(s, JSON_REJECT_DUPLICATES, &error);
		cr_assert_not_null(json, "%s", error.text);
		size_t i, k, n;
		json_t *roll, *group, *step;
		long long steps = 0;
		json_array_foreach(json_object_get(json, "rolls"), i,
		    roll) json_array_foreach(json_object_get(roll, "groups"), k,
		    group)
		    json_array_foreach(json_object_get(group, "steps"), n, step)
		{
			char line[128];
			if (!json_is_integer(json_object_get(step, "number")))
				continue;
			cr_expect_eq(
			    json_integer_value(json_object_get(step, "number")),
			    ++steps);
			snprintf(line, sizeof(line), "%4lld  %s ", steps,
			    json_string_value(json_object_get(step, "mark")));
			cr_expect_not_null(strstr(text, line),
			    "seed %llu: \"%s\" is not in the text",
			    (unsigned long long)seed, line);
		}
		cr_expect_gt(steps, 0);
		cr_expect_eq(
		    json_integer_value(json_object_get(json, "steps")), steps);
		json_decref(json);
		free(text);
		free(s);
		made_delete(&m);
	}
}

Test(sheet, a_superseded_sheet_says_so_on_every_page, .fini = print_shutdown)
{
	struct print_case c;
	case_read(&c, SOURCE_DIR "/tests/golden/two-papers");
	char *s = form(&c.input, sheet_commands);
	size_t pages = 0, said = 0;
	for (const char *p = s; (p = strstr(p, "\npage ")) != NULL; p++)
		pages++;
	for (const char *p = s; (p = strstr(p, "| SUPERSEDED")) != NULL; p++)
		said++;
	cr_expect_eq(
	    said, pages + 1, "%zu pages, said on %zu", pages + 1, said);
	free(s);
	case_free(&c);
}

/* Latin with accents, Greek, Cyrillic, Arabic, Hebrew, Devanagari, Thai, Chinese, Japanese,
 * Korean, an emoji family joined by U+200D, a long name, markup, and a lone combining mark. */
static const char *const names[] = {"Élodie Åström", "Ελένη", "Фёдор", "محمد",
    "נועה", "सुनीता", "สมชาย", "李小龙", "さくら", "김민준",
    "👩\u200d👩\u200d👧\u200d👦 Ana",
    ("A name that goes on and on, through first and second and third names, "
     "to the end of the line"),
    "<b>&\"'</b>]]>", "\u0301x", " ", "=1+1"};
#define N_NAMES (sizeof(names) / sizeof(names[0]))

Test(sheet, names_of_any_script_leave_the_columns_straight)
{
	struct made m;
	struct sheet_member members[N_NAMES];
	made_new(&m, 11);
	memset(members, 0, sizeof(members));
	for (size_t i = 0; i < N_NAMES; i++)
		members[i].name = names[i];
	m.input.members = members;
	m.input.n_members = N_NAMES;
	char *text = form(&m.input, sheet_text);
	cr_expect(utf8_is_valid(text, strlen(text)));
	for (char *line = strtok(text, "\n"); line; line = strtok(NULL, "\n"))
		cr_expect_leq(screen_width(line), 80, "%s", line);
	free(text);
	made_delete(&m);
}

static uint64_t next(uint64_t *state)
{
	uint64_t z = *state += UINT64_C(0x9e3779b97f4a7c15);
	z = (z ^ z >> 30) * UINT64_C(0xbf58476d1ce4e5b9);
	return z ^ z >> 27;
}

/* A line of any code points that utf8_is_line() lets pass. */
static void any_name(uint64_t *state, char buf[static 256])
{
	size_t len = 0, n = next(state) % 50;
	for (size_t i = 0; i < n; i++) {
		static const uint32_t tops[] = {0x80, 0x800, 0x10000, 0x110000};
		uint32_t c = (uint32_t)(next(state) % tops[next(state) % 4]);
		size_t before = len;
		if (c < 0x80) {
			buf[len++] = (char)c;
		} else if (c < 0x800) {
			buf[len++] = (char)(0xc0 | c >> 6);
			buf[len++] = (char)(0x80 | (c & 63));
		} else if (c < 0x10000) {
			buf[len++] = (char)(0xe0 | c >> 12);
			buf[len++] = (char)(0x80 | (c >> 6 & 63));
			buf[len++] = (char)(0x80 | (c & 63));
		} else {
			buf[len++] = (char)(0xf0 | c >> 18);
			buf[len++] = (char)(0x80 | (c >> 12 & 63));
			buf[len++] = (char)(0x80 | (c >> 6 & 63));
			buf[len++] = (char)(0x80 | (c & 63));
		}
		if (!utf8_is_line(buf, len))
			len = before;
	}
	buf[len] = '\0';
}

Test(sheet, any_name_is_shortened_at_a_letter, .fini = print_shutdown)
{
	uint64_t state = 2026;
	for (int i = 0; i < 20000; i++) {
		char name[256];
		struct text out;
		any_name(&state, name);
		size_t columns = next(&state) % 40;
		text_init(&out, 4096);
		screen_pad(&out, name, columns);
		cr_assert(utf8_is_valid(out.data, out.len), "name %d", i);
		cr_assert_eq(
		    screen_width(out.data), columns, "name %d: %s", i, name);
		text_reset(&out);
		screen_wrap(&out, "", 4, name);
		for (char *line = strtok(out.data, "\n"); line;
		     line = strtok(NULL, "\n"))
			cr_assert_leq(screen_width(line), 80);
		text_free(&out);
	}
	/* and all forms of a sheet live through it */
	for (int i = 0; i < 10; i++) {
		struct made m;
		char any[MADE_MEMBERS][256];
		struct text out;
		struct err err;
		made_new(&m, 11);
		for (size_t k = 0; k < MADE_MEMBERS; k++) {
			any_name(&state, any[k]);
			m.members[k].name = any[k];
		}
		struct sheet *sheet = sheet_new(&m.input);
		text_init(&out, TEAR_SHEET_MAX);
		cr_expect(sheet_pdf(sheet, &out, &err), "%s", err.text);
		sheet_text(sheet, &out);
		text_free(&out);
		sheet_delete(sheet);
		made_delete(&m);
	}
}

Test(picture, stands_in_a_page_without_style_or_script)
{
	for (uint64_t seed = 1; seed <= 20; seed++) {
		struct made m;
		struct text out;
		made_new(&m, seed);
		m.members[0].code = "<A>";
		struct sheet *sheet = sheet_new(&m.input);
		text_init(&out, 1 << 24);
		for (size_t r = 0; r < m.plan->n_rolls; r++)
			plan_picture_svg(
			    sheet, 0, r, r ? 2 : SIZE_MAX, "p\"1", &out);
		cr_expect(text_fits(&out));
		cr_expect_null(strstr(out.data, "style="));
		cr_expect_null(strstr(out.data, "<script"));
		cr_expect_null(strstr(out.data, "<A>"));
		cr_expect_null(strstr(out.data, "p\"1"));
		cr_expect_null(strstr(out.data, "nan"));
		text_free(&out);
		sheet_delete(sheet);
		made_delete(&m);
	}
}

/* Codes of others are not on a member's own picture. */
Test(picture, of_one_member_shows_no_other_code)
{
	struct print_case c;
	struct text out;
	case_read(&c, SOURCE_DIR "/tests/golden/first-class");
	struct sheet *sheet = sheet_new(&c.input);
	text_init(&out, 1 << 24);
	plan_picture_svg(sheet, 0, 1, 3, "p", &out);
	cr_expect_not_null(strstr(out.data, ">E</text>"));
	cr_expect_null(strstr(out.data, ">A</text>"));
	cr_expect_null(strstr(out.data, ">C</text>"));
	text_free(&out);
	sheet_delete(sheet);
	case_free(&c);
}

Test(picture, of_a_torn_sheet_keeps_its_proportions)
{
	struct text out;
	text_init(&out, 1 << 20);
	piece_picture_svg(9 * INCH + INCH / 2, 12 * INCH + INCH / 2, 9 * INCH,
	    12 * INCH, MEASURE_INCH, "s", &out);
	/* 220 high for 12 1/2 in: 9 1/2 in are 167.2, the picture 158.4 x 211.2 */
	cr_expect_not_null(strstr(out.data, "width=\"167.2\" height=\"220.0\""),
	    "%s", out.data);
	cr_expect_not_null(strstr(out.data, "width=\"158.4\" height=\"211.2\""),
	    "%s", out.data);
	cr_expect_not_null(strstr(out.data, "torn 9 1/2 × 12 1/2 in"));
	cr_expect_not_null(strstr(out.data, "picture 9 × 12 in"));
	text_free(&out);
}

static void html_form(const struct sheet *sheet, struct text *out)
{
	sheet_html(sheet, "s", out);
}

Test(sheet, html_has_the_same_marks_and_lets_no_markup_through)
{
	struct print_case c;
	case_read(&c, SOURCE_DIR "/tests/golden/first-class");
	c.members[0].name = "<b onclick='x'>&";
	c.members[1].code = "\"><script>";
	char *s = form(&c.input, html_form);
	cr_expect_not_null(strstr(s, "<b class=\"mark\">27 1/2 in</b>"));
	cr_expect_not_null(strstr(s, "<b class=\"mark\">377.8 mm</b>"));
	cr_expect_not_null(strstr(s, "&lt;b onclick=&#39;x&#39;&gt;&amp;"));
	cr_expect_null(strstr(s, "<script"));
	cr_expect_null(strstr(s, "style="));
	free(s);
	case_free(&c);
}

/* Nothing could be placed, or a roll is in the plan of which nothing is torn: still a sheet. */
Test(
    sheet, of_an_empty_plan_can_be_printed_in_all_forms, .fini = print_shutdown)
{
	for (int i = 0; i < 2; i++) {
		struct made m;
		struct text out;
		struct err err;
		made_new(&m, 5);
		if (i == 0)
			m.plan->n_rolls = 0;
		else
			m.plan->rolls[0].n_strips = m.plan->rolls[1].n_strips =
			    0;
		struct sheet *sheet = sheet_new(&m.input);
		text_init(&out, TEAR_SHEET_MAX);
		sheet_text(sheet, &out);
		cr_expect_not_null(strstr(out.data, "NOT in this plan"));
		sheet_json(sheet, &out);
		sheet_html(sheet, "s", &out);
		cr_expect(sheet_pdf(sheet, &out, &err), "%s", err.text);
		cr_expect(sheet_svg(sheet, 1, &out, &err), "%s", err.text);
		cr_expect_not(sheet_svg(sheet, 999, &out, &err));
		text_free(&out);
		sheet_delete(sheet);
		made_delete(&m);
	}
}
