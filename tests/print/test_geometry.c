/* SPDX-License-Identifier: MIT */
/*
 * What lies where on the pages: no label leaves its box or the page, none lies on another,
 * none is crossed by the outline of a box.
 */
#include <criterion/criterion.h>
#include <pango/pango.h>

#include "canvas.h"
#include "case.h"
#include "made.h"
#include "sheet_model.h"

#define EPS 0.75 /* points: a quarter of a millimetre */

static struct box ink_of(const struct item *item)
{
	PangoRectangle ink, logical;
	pango_layout_get_extents(item->layout, &ink, &logical);
	return (struct box){
	    item->box.x + (double)(ink.x - logical.x) / PANGO_SCALE,
	    item->box.y + (double)(ink.y - logical.y) / PANGO_SCALE,
	    (double)ink.width / PANGO_SCALE, (double)ink.height / PANGO_SCALE};
}

static bool apart(const struct box *a, const struct box *b)
{
	return a->x + a->w <= b->x + EPS || b->x + b->w <= a->x + EPS ||
	       a->y + a->h <= b->y + EPS || b->y + b->h <= a->y + EPS;
}

static bool within(const struct box *a, const struct box *b)
{
	return a->x >= b->x - EPS && a->y >= b->y - EPS &&
	       a->x + a->w <= b->x + b->w + EPS &&
	       a->y + a->h <= b->y + b->h + EPS;
}

/* Names may be shortened, since the code beside them is not; nothing else. */
static bool may_be_short(const struct sheet_input *input, const char *s)
{
	if (input->workshop && strcmp(s, input->workshop) == 0)
		return true;
	/* at the foot of a page; the heading of the roll has it whole */
	for (size_t i = 0; i < input->n_papers; i++) {
		if (strlen(input->papers[i].name) > 30 &&
		    strstr(s, input->papers[i].name))
			return true;
	}
	for (size_t i = 0; i < input->n_members; i++) {
		if (input->members[i].name &&
		    strcmp(s, input->members[i].name) == 0)
			return true;
	}
	return false;
}

static void check_whole(
    const struct sheet_input *input, const struct item *item, const char *what)
{
	if (pango_layout_is_ellipsized(item->layout))
		cr_expect(may_be_short(input, item->text),
		    "%s: \"%s\" is shortened", what, item->text);
}

static size_t check_text(
    const struct canvas *c, size_t p, size_t i, const char *what, size_t faults)
{
	const struct canvas_page *page = &c->pages[p];
	const struct item *item = &page->items[i];
	struct box paper = {0, 0, c->width, c->height};
	struct box ink = ink_of(item);

	/* side bearings may reach out of the room (a J does), as long as they meet nothing */
	struct box set = {item->box.x, ink.y, item->box.w, ink.h};
	if (!within(&ink, &paper) || !within(&set, &item->room)) {
		cr_expect(false,
		    "%s page %zu: \"%s\" leaves its box: %.1f %.1f %.1f %.1f "
		    "in %.1f %.1f %.1f %.1f",
		    what, p + 1, item->text, set.x, set.y, set.w, set.h,
		    item->room.x, item->room.y, item->room.w, item->room.h);
		faults++;
	}
	for (size_t k = 0; k < page->n; k++) {
		const struct item *other = &page->items[k];
		if (k > i && other->kind == ITEM_TEXT) {
			struct box b = ink_of(other);
			if (!apart(&ink, &b)) {
				cr_expect(false,
				    "%s page %zu: \"%s\" lies on \"%s\"", what,
				    p + 1, item->text, other->text);
				faults++;
			}
		}
		/* an outline that crosses it; a plate drawn later may not cover it either */
		if (other->kind == ITEM_RECT &&
		    (other->line > 0 || other->fill > FILL_NONE) &&
		    !apart(&ink, &other->box) && !within(&ink, &other->box)) {
			cr_expect(false,
			    "%s page %zu: \"%s\" is crossed by a box", what,
			    p + 1, item->text);
			faults++;
		}
		if (other->kind == ITEM_RECT && k > i &&
		    other->fill != FILL_NONE && !apart(&ink, &other->box)) {
			cr_expect(false, "%s page %zu: \"%s\" is covered", what,
			    p + 1, item->text);
			faults++;
		}
		if (other->kind == ITEM_QR && !apart(&ink, &other->box)) {
			cr_expect(false,
			    "%s page %zu: \"%s\" lies on a QR code", what,
			    p + 1, item->text);
			faults++;
		}
	}
	return faults;
}

static void check(const struct sheet_input *input, const char *what)
{
	struct sheet *sheet = sheet_new(input);
	size_t faults = 0;

	cr_expect(sheet_pages(sheet) > 0);
	const struct canvas *c = *sheet->drawn;
	for (size_t p = 0; p < c->n_pages; p++) {
		for (size_t i = 0; i < c->pages[p].n && faults < 20; i++) {
			const struct item *item = &c->pages[p].items[i];
			struct box paper = {0, 0, c->width, c->height};
			if (item->kind == ITEM_TEXT)
				check_whole(input, item, what);
			if (item->kind == ITEM_TEXT)
				faults = check_text(c, p, i, what, faults);
			else if (item->kind != ITEM_OUTLINE &&
				 item->kind != ITEM_LINE &&
				 !within(&item->box, &paper))
				cr_expect(false,
				    "%s page %zu: something leaves the page",
				    what, p + 1);
		}
	}
	sheet_delete(sheet);
}

static void check_all(struct sheet_input *input, const char *name)
{
	for (int i = 0; i < 4; i++) {
		char what[64];
		input->page = i & 1 ? SHEET_LETTER : SHEET_A4;
		input->large = i & 2;
		snprintf(what, sizeof(what), "%s %s%s", name,
		    i & 1 ? "letter" : "a4", i & 2 ? " large" : "");
		check(input, what);
	}
}

static void check_case(const char *name)
{
	struct print_case c;
	char folder[4096];
	snprintf(
	    folder, sizeof(folder), "%s/tests/golden/%s", SOURCE_DIR, name);
	case_read(&c, folder);
	check_all(&c.input, name);
	case_free(&c);
}

Test(geometry, a_class_lies_well_on_every_paper, .fini = print_shutdown)
{
	check_case("first-class");
}

Test(geometry, two_papers_lie_well_on_every_paper, .fini = print_shutdown)
{
	check_case("two-papers");
}

Test(
    geometry, another_language_lies_well_on_every_paper, .fini = print_shutdown)
{
	check_case("german");
}

Test(geometry, flat_sheets_lie_well_on_every_paper, .fini = print_shutdown)
{
	check_case("flat-sheets");
}

/* What a studio may ask for, and names that are too long: all at once. */
Test(geometry, whatever_a_studio_wants_lies_well, .fini = print_shutdown)
{
	static const char longest[] =
	    "A name that goes on and on, through first and second and third "
	    "names and those of all the forebears, to the end of the line";

	for (uint64_t seed = 21; seed <= 26; seed++) {
		struct made m;
		char name[32];
		made_new(&m, seed);
		for (size_t i = 0; i < MADE_MEMBERS; i += 2)
			m.members[i].name = longest;
		m.paper.name = seed % 2 ? "cold press 300 of the old mill by "
					  "the river, second quality"
					: "x";
		m.input.both = true;
		m.input.pull = PULL_FAR;
		m.input.language = seed % 2 ? "de" : "en";
		m.input.rules = longest;
		m.input.workshop = longest;
		m.input.studio = longest;
		m.input.side_up = longest;
		m.input.closing = m.input.tear_on = m.input.flat_on =
		    m.input.open_on = "Wednesday, 30 September 2026, 17:00 "
				      "(America/Argentina/Buenos_Aires)";
		m.input.flattening_days = 14;
		m.input.superseded = true;
		m.input.shelf_url = "https://a-rather-long-name.studio.example/"
				    "shelf/";
		m.input.step = seed % 2 ? MM : INCH / 32;
		m.input.straightedge = 300 * MM;
		m.input.table = 3000 * MM;
		snprintf(name, sizeof(name), "wishes %llu",
		    (unsigned long long)seed);
		check_all(&m.input, name);
		made_delete(&m);
	}
}

Test(geometry, made_up_plans_lie_well_on_every_paper, .fini = print_shutdown)
{
	for (uint64_t seed = 1; seed <= 12; seed++) {
		struct made m;
		char name[32];
		made_new(&m, seed);
		snprintf(
		    name, sizeof(name), "seed %llu", (unsigned long long)seed);
		check_all(&m.input, name);
		made_delete(&m);
	}
}

static const char *refused(struct label_grid grid, struct err *err)
{
	struct print_case c;
	struct text out;
	case_read(&c, SOURCE_DIR "/tests/golden/first-class");
	struct sheet *sheet = sheet_new(&c.input);
	text_init(&out, 1 << 24);
	err_clear(err);
	bool ok = sheet_labels_commands(sheet, &grid, &out, err);
	cr_expect_eq(ok, out.len > 0);
	text_free(&out);
	sheet_delete(sheet);
	case_free(&c);
	return ok ? "" : err->text;
}

Test(labels, that_do_not_fit_the_page_are_refused, .fini = print_shutdown)
{
	struct err err;
	struct label_grid grid = label_grid_default(SHEET_A4);
	cr_expect_str_empty(refused(grid, &err));
	cr_expect_str_empty(refused(label_grid_default(SHEET_LETTER), &err));
	grid.rows = 8;
	cr_expect_str_eq(refused(grid, &err),
	    "the labels do not fit the page, or lie on one another");
	grid = label_grid_default(SHEET_A4);
	grid.step_x = grid.width - 1;
	cr_expect_str_eq(refused(grid, &err),
	    "the labels do not fit the page, or lie on one another");
	grid = label_grid_default(SHEET_A4);
	grid.height = 10 * MM;
	cr_expect_str_eq(refused(grid, &err),
	    "a label is too small to be read at arm's length");
	cr_expect_str_eq(err.hint, "Take labels of at least 40 x 22 mm.");
	grid = label_grid_default(SHEET_A4);
	grid.skip = 21;
	cr_expect_str_eq(
	    refused(grid, &err), "21 labels of 21 are said to be used up");
	grid.skip = 20;
	cr_expect_str_empty(refused(grid, &err));
	grid.columns = SIZE_MAX;
	cr_expect_str_neq(refused(grid, &err), "");
}
