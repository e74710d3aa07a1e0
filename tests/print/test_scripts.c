/* SPDX-License-Identifier: MIT */
/*
 * Names in everybody's own script: each sign has a glyph, words that run from right to left
 * do, and letters that join or change places are not set one by one.  With the fonts of the machine:
 * deploy/setup installs those that are needed.
 *
 * What right shaping is, is taken from the scripts themselves (The Unicode Standard, chapters 9
 * and 12): Arabic letters have other shapes at the start, in the middle and at the end of a
 * word; the Devanagari vowel sign I stands before the consonant it follows in the text; an emoji
 * sequence held together by U+200D is one sign.
 */
#include <criterion/criterion.h>
#include <pango/pangocairo.h>

#include "canvas.h"
#include "case.h"
#include "sheet_model.h"

static const char *const names[] = {"Élodie Åström", "Ελένη", "Фёдор", "محمد",
    "נועה", "सुनीता", "สมชาย", "李小龙", "さくら", "김민준",
    "👩\u200d👩\u200d👧\u200d👦", "Zoë 🎨", "Ñandú 😀", "Łucja Dvořák"};
#define N_NAMES (sizeof(names) / sizeof(names[0]))

typedef void glyphs_fn(void *ctx, const PangoGlyphItem *run);

static void each_run(PangoLayout *layout, glyphs_fn *fn, void *ctx)
{
	PangoLayoutIter *iter = pango_layout_get_iter(layout);

	do {
		PangoGlyphItem *run = pango_layout_iter_get_run_readonly(iter);
		if (run)
			fn(ctx, run);
	} while (pango_layout_iter_next_run(iter));
	pango_layout_iter_free(iter);
}

struct seen {
	size_t glyphs, unknown, right_to_left;
	PangoGlyph first[16];
};

static void look(void *ctx, const PangoGlyphItem *run)
{
	struct seen *seen = ctx;

	for (int i = 0; i < run->glyphs->num_glyphs; i++) {
		PangoGlyph g = run->glyphs->glyphs[i].glyph;
		if (g == PANGO_GLYPH_EMPTY)
			continue;
		/* glyph 0 is .notdef in every font (OpenType, recommendations) */
		if (g == 0 || (g & PANGO_GLYPH_UNKNOWN_FLAG))
			seen->unknown++;
		if (seen->glyphs < 16)
			seen->first[seen->glyphs] = g;
		seen->glyphs++;
	}
	seen->right_to_left += run->item->analysis.level % 2;
}

static struct seen shaped(struct canvas *c, const char *s)
{
	struct seen seen = {0};
	struct style style = {.size = 14, .bold = true};

	canvas_text(c, (struct box){0, 0, 0, 0}, &style, s);
	each_run(c->pages[0].items[c->pages[0].n - 1].layout, look, &seen);
	return seen;
}

Test(scripts, every_sign_of_every_name_has_a_glyph_on_every_page,
    .fini = print_shutdown)
{
	struct print_case c;
	struct sheet_member members[N_NAMES];
	size_t found = 0;

	case_read(&c, SOURCE_DIR "/tests/golden/first-class");
	memset(members, 0, sizeof(members));
	for (size_t i = 0; i < N_NAMES; i++)
		members[i].name = names[i];
	c.input.members = members;
	c.input.n_members = N_NAMES;
	struct sheet_request requests[5] = {{0}};
	const struct sheet_request *own = c.papers[0].requests;
	for (size_t round = 0; round * 5 < N_NAMES; round++) {
		for (size_t k = 0; k < 5; k++)
			requests[k].member = (round * 5 + k) % N_NAMES;
		c.papers[0].requests = requests;
		struct sheet *sheet = sheet_new(&c.input);
		cr_assert(sheet_pages(sheet) > 0);
		cr_expect_eq(sheet_unknown_signs(sheet), 0);
		const struct canvas *canvas = *sheet->drawn;
		for (size_t p = 0; p < canvas->n_pages; p++) {
			for (size_t i = 0; i < canvas->pages[p].n; i++) {
				const struct item *item =
				    &canvas->pages[p].items[i];
				struct seen seen = {0};
				if (item->kind != ITEM_TEXT)
					continue;
				each_run(item->layout, look, &seen);
				cr_expect_eq(
				    seen.unknown, 0, "\"%s\"", item->text);
				for (size_t k = 0; k < N_NAMES; k++)
					found +=
					    strcmp(item->text, names[k]) == 0;
			}
		}
		sheet_delete(sheet);
	}
	c.papers[0].requests = own;
	cr_expect_geq(found, N_NAMES, "only %zu names were drawn", found);
	case_free(&c);
}

Test(
    scripts, letters_join_and_run_as_their_script_wants, .fini = print_shutdown)
{
	struct canvas *c = canvas_new(600, 800, "en");
	struct seen one, word;

	canvas_add_page(c);
	cr_expect_gt(shaped(c, "محمد").right_to_left, 0);
	cr_expect_gt(shaped(c, "נועה").right_to_left, 0);
	cr_expect_eq(shaped(c, "Ана").right_to_left, 0);
	/* meem alone, and meem at the start of a word */
	one = shaped(c, "م");
	word = shaped(c, "مح");
	cr_assert_geq(word.glyphs, 1);
	for (size_t i = 0; i < word.glyphs; i++)
		cr_expect_neq(word.first[i], one.first[0]);
	/* ka with the vowel sign I: the sign comes first, so the last glyph is ka */
	one = shaped(c, "क");
	word = shaped(c, "कि");
	cr_assert_eq(word.glyphs, 2);
	cr_expect_eq(word.first[1], one.first[0]);
	/* a family of four is one sign */
	cr_expect_eq(shaped(c, "👩\u200d👩\u200d👧\u200d👦").glyphs, 1);
	/* an accent that stands alone in the text sits on its letter */
	cr_expect_eq(shaped(c, "e\u0301").unknown, 0);
	canvas_delete(c);
}
