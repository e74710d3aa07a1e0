/* SPDX-License-Identifier: MIT */
/*
 * sheet_html.c - the tear sheet as a part of a web page: for a telephone on the table, and for
 * whoever prints from the browser.
 *
 * Structure only: headings, lists and tables with class names; how they look is the style
 * sheet's affair.  No script, no style attribute, everything from outside goes through
 * markup_text().
 */
#include "markup.h"
#include "notes.h"
#include "picture.h"
#include "catalogue.h"

struct html {
	const struct sheet *sheet;
	struct text *out;
	struct arena *arena;
	const char *id;
};

/* No line ends within "12 1/2 in". */
static void words(struct html *h, const char *s)
{
	struct text t;
	size_t mark = 0; /* bytes of it that are still to come */

	text_init(&t, 1 << 20);
	for (size_t i = 0; s[i]; i++) {
		bool begins = i == 0 || s[i - 1] == ' ' || s[i - 1] == '(';
		if (mark > 0)
			mark--;
		else if (begins)
			mark = mark_span(s + i);
		if (s[i] == ' ' && mark > 0)
			text_add(&t, "\u00a0");
		else
			text_add_char(&t, s[i]);
	}
	markup_text(h->out, t.data);
	text_free(&t);
}

static void element(
    struct html *h, const char *name, const char *class, const char *s)
{
	text_addf(h->out, class ? "<%s class=\"%s\">" : "<%s>", name, class);
	words(h, s);
	text_addf(h->out, "</%s>", name);
}

static void put_notes(struct html *h, const struct notes *notes)
{
	static const char *const classes[] = {[NOTE_LINE] = "line",
	    [NOTE_BOX] = "box",
	    [NOTE_BOLD] = "box decides",
	    [NOTE_UNDER] = "under"};

	if (notes->n == 0)
		return;
	text_add(h->out, "<ul class=\"notes\">\n");
	for (size_t i = 0; i < notes->n; i++) {
		element(h, "li", classes[notes->notes[i].kind],
		    notes->notes[i].text);
		text_add_char(h->out, '\n');
	}
	text_add(h->out, "</ul>\n");
}

static void put_section(struct html *h, const char *name,
    void (*fill)(const struct sheet *, struct arena *, struct notes *))
{
	struct notes notes = {0};

	element(h, "h2", NULL, name);
	fill(h->sheet, h->arena, &notes);
	put_notes(h, &notes);
}

static void put_boxes(struct html *h, const struct step *step)
{
	text_add(h->out, "<ul class=\"boxes\">");
	for (size_t i = 0; i < step->n_ticks; i++) {
		const struct tick *tick = &step->ticks[i];
		const char *code = phrase_tick(h->sheet, tick);
		text_add(h->out, "<li class=\"box\">");
		if (tick->strip > 0)
			markup_text(h->out, arena_printf(h->arena,
						_("strip %zu"), tick->strip));
		if (*code) {
			text_add(h->out, " ");
			element(h, "b", "code", code);
		}
		text_add(h->out, "</li>");
	}
	text_add(h->out, "</ul>");
}

static void put_step(struct html *h, const struct step *step)
{
	char buf[LENGTH_TEXT_MAX];
	const char *remark =
	    step->number > 0 ? phrase_mark(h->sheet, step, h->arena) : NULL;

	text_add(h->out, "<tr>");
	if (step->number > 0) {
		text_addf(h->out, "<th scope=\"row\">%lld</th>",
		    (long long)step->number);
		mark_print(buf, step->mark, &h->sheet->ruler);
		text_add(h->out, "<td>");
		text_add(h->out, "<b class=\"mark\">");
		markup_text(h->out, buf);
		text_add(h->out, "</b>");
		text_add(h->out, " ");
		markup_text(h->out,
		    arena_printf(h->arena, _("from %s"), phrase_edge(step)));
		if (remark) {
			text_add(h->out, "<br/>");
			element(h, "span", "remark", remark);
		}
		text_add(h->out, "</td>");
	} else {
		text_add(h->out, "<th scope=\"row\">");
		markup_text(h->out, _("rest"));
		text_add(h->out, "</th>");
		element(h, "td", NULL, _("what is left, no tear"));
	}
	text_add(h->out, "<td>");
	words(h, phrase_off(h->sheet, step, "×", h->arena));
	if (step->number > 0 || step->off != OFF_WASTE)
		put_boxes(h, step);
	text_add(h->out, "</td></tr>\n");
}

static void put_table(
    struct html *h, const struct group *group, size_t first, size_t end)
{
	text_add(h->out, "<table class=\"steps\">\n");
	element(h, "caption", NULL,
	    phrase_from(group, &group->steps[first], h->arena));
	text_add(h->out, "\n<thead><tr>");
	static const char *const heads[] = {
	    N_("Step"), N_("Mark"), N_("What comes off")};
	for (size_t i = 0; i < 3; i++) {
		text_add(h->out, "<th scope=\"col\">");
		markup_text(h->out, _(heads[i]));
		text_add(h->out, "</th>");
	}
	text_add(h->out, "</tr></thead>\n<tbody>\n");
	for (size_t i = first; i < end; i++)
		put_step(h, &group->steps[i]);
	text_add(h->out, "</tbody></table>\n");
}

static void put_group(
    struct html *h, const struct sheet_roll *roll, const struct group *group)
{
	struct notes notes = {0};

	element(h, "h3", NULL, phrase_heading(h->sheet, roll, group, h->arena));
	notes_group(h->sheet, roll, group, h->arena, &notes);
	put_notes(h, &notes);
	for (size_t first = 0; first < group->n_steps;) {
		size_t end = first + 1;
		while (end < group->n_steps &&
		       !phrase_from_changes(
			   &group->steps[end - 1], &group->steps[end]))
			end++;
		put_table(h, group, first, end);
		first = end;
	}
}

/* Index of the roll in its own paper's plan. */
static size_t index_in_paper(
    const struct html *h, const struct sheet_roll *roll)
{
	size_t n = 0;

	for (const struct sheet_roll *r = h->sheet->rolls; r < roll; r++)
		n += r->paper == roll->paper;
	return n;
}

static void put_roll(struct html *h, const struct sheet_roll *roll)
{
	struct notes notes = {0};

	element(h, "h2", NULL, phrase_roll(h->sheet, roll, h->arena));
	element(h, "p", NULL,
	    arena_printf(h->arena, "%s, %s", roll->label,
		phrase_roll_size(h->sheet, roll, "×", h->arena)));
	notes_roll(h->sheet, roll, h->arena, &notes);
	put_notes(h, &notes);
	text_add(h->out, "<div class=\"drawing roll\">\n");
	plan_picture_svg(h->sheet, roll->paper, index_in_paper(h, roll),
	    SIZE_MAX, arena_printf(h->arena, "%s-r%zu", h->id, roll->number),
	    h->out);
	text_add(h->out, "</div>\n");
	for (size_t i = 0; i < roll->n_groups; i++)
		put_group(h, roll, &roll->groups[i]);
}

static void put_pick(struct html *h, const struct pick *pick)
{
	const char *picture = phrase_picture(h->sheet, pick, "×", h->arena);

	if (pick->count > 0)
		element(
		    h, "li", "box", phrase_pick(h->sheet, pick, "×", h->arena));
	if (pick->count > 0 && picture)
		element(h, "li", "under", picture);
	if (pick->missing > 0)
		element(h, "li", "missing",
		    phrase_missing(h->sheet, pick, "×", h->arena));
}

static void put_hands(struct html *h)
{
	element(h, "h2", NULL, _("Pick list: what each one gets"));
	text_add(h->out, "\n<dl class=\"hands\">\n");
	for (size_t i = 0; i < h->sheet->n_hands; i++) {
		const struct sheet_hand *hand = &h->sheet->hands[i];
		if (hand->n_picks == 0)
			continue;
		text_add(h->out, "<dt>");
		element(h, "b", "code", hand->code);
		text_add(h->out, " <bdi>");
		markup_text(h->out, hand->name);
		text_add(h->out, "</bdi></dt>\n<dd><ul class=\"picks\">");
		for (size_t k = 0; k < hand->n_picks; k++)
			put_pick(h, &hand->picks[k]);
		text_add(h->out, "</ul></dd>\n");
	}
	text_add(h->out, "</dl>\n");
}

static void put_shelf(struct html *h)
{
	if (h->sheet->n_shelf == 0)
		return;
	element(h, "h2", NULL, _("Back on the shelf: write the code on it"));
	text_add(h->out, "\n<ul class=\"shelf\">\n");
	for (size_t i = 0; i < h->sheet->n_shelf; i++) {
		const struct shelf *item = &h->sheet->shelf[i];
		text_add(h->out, "<li class=\"box\">");
		element(h, "b", "code", item->code);
		text_add(h->out, " ");
		words(h, phrase_shelf(h->sheet, item, "×", h->arena));
		text_add(h->out, "</li>\n");
	}
	text_add(h->out, "</ul>\n");
}

/* --- what stands first -------------------------------------------------------------------- */

static void put_fact(struct html *h, int64_t n, const char *name)
{
	text_addf(h->out, "<li><b>%lld</b> ", (long long)n);
	markup_text(h->out, name);
	text_add(h->out, "</li>");
}

static void put_facts(struct html *h)
{
	struct sheet_count n = sheet_count(h->sheet);

	text_add(h->out, "<ul class=\"facts\">");
	put_fact(h, n.rolls, phrase_rolls(h->sheet));
	put_fact(h, n.strips, n.strips == 1 ? _("strip") : _("strips"));
	put_fact(h, n.tears, n.tears == 1 ? _("tear") : _("tears"));
	put_fact(h, n.pieces, n.pieces == 1 ? _("piece") : _("pieces"));
	text_add(h->out, "</ul>\n");
}

static void put_date(struct html *h, const char *name, const char *value)
{
	if (!value || !*value)
		return;
	element(h, "dt", NULL, name);
	element(h, "dd", NULL, value);
}

static void put_head(struct html *h)
{
	const struct sheet_input *input = h->sheet->input;
	const char *plan =
	    input->number
		? arena_printf(h->arena, _("Plan %lld, check %s"),
		      (long long)input->number, h->sheet->check)
		: arena_printf(h->arena, _("Check %s"), h->sheet->check);

	element(h, "p", "plan", plan);
	put_facts(h);
	if (!(input->closing && *input->closing) &&
	    !(input->tear_on && *input->tear_on) &&
	    !(input->flat_on && *input->flat_on))
		return;
	text_add(h->out, "<dl class=\"dates\">");
	put_date(h, _("Requests closed"), input->closing);
	put_date(h, _("Tear on"), input->tear_on);
	put_date(h, _("Lies flat on"), input->flat_on);
	text_add(h->out, "</dl>\n");
}

void sheet_html_page(const struct sheet *sheet, struct text *out)
{
	const struct sheet_input *input = sheet->input;
	const char *name = input->workshop && *input->workshop ? input->workshop
			   : input->studio && *input->studio   ? input->studio
							       : "";

	catalogue_use(input->language);
	text_addf(out,
	    "<!DOCTYPE html>\n<html lang=\"%s\">\n<head>\n"
	    "<meta charset=\"utf-8\"/>\n<meta name=\"viewport\" "
	    "content=\"width=device-width, initial-scale=1\"/>\n<title>",
	    catalogue_language());
	markup_text(out, _("Tear sheet"));
	if (*name) {
		text_add(out, ", ");
		markup_text(out, name);
	}
	text_add(out, "</title>\n<style>\nbody { margin: 0 auto; max-width: "
		      "52rem; background: #fff; }\n");
	text_add(out, sheet_css);
	text_add(out, "</style>\n</head>\n<body>\n<main>\n"
		      "<div class=\"tear-sheet\"><h1>");
	markup_text(out, _("Tear sheet"));
	text_add(out, "</h1>\n<p><bdi>");
	markup_text(out, name);
	text_add(out, "</bdi></p></div>\n");
	sheet_html(sheet, "s", out);
	text_add(out, "</main>\n</body>\n</html>\n");
}

void sheet_html(const struct sheet *sheet, const char *id, struct text *out)
{
	struct html h = {.sheet = sheet,
	    .out = out,
	    .arena = arena_new((size_t)1 << 31),
	    .id = id};

	catalogue_use(sheet->input->language);
	text_add(out, "<div class=\"tear-sheet\">\n");
	if (sheet->input->superseded)
		element(&h, "p", "superseded",
		    _("SUPERSEDED by a newer plan: do not tear from this "
		      "page"));
	put_head(&h);
	put_section(&h, _("Take off the shelf and lay ready"), notes_before);
	put_section(&h, _("Measure before the first tear"), notes_measure);
	put_section(&h, _("How to mark and tear"), notes_method);
	text_add(out, "<div class=\"drawing pull\">\n");
	pull_picture_svg(sheet, arena_printf(h.arena, "%s-pull", h.id), out);
	text_add(out, "</div>\n");
	put_section(&h, _("Take care"), notes_cautions);
	for (size_t i = 0; i < sheet->n_rolls; i++)
		put_roll(&h, &sheet->rolls[i]);
	put_hands(&h);
	put_shelf(&h);
	put_section(&h, _("Flattening"), notes_after);
	put_section(&h, _("To take home"), notes_care);
	text_add(out, "</div>\n");
	arena_delete(h.arena);
}
