/* SPDX-License-Identifier: MIT */
/*
 * The page writer against hostile text: whatever comes in, the page keeps its shape.
 *
 * Expected escapes are those of the HTML standard (WHATWG), section "escaping a string";
 * percent-encoding is RFC 3986, section 2.  The parts of an address that leave this
 * server are those a browser's URL parser (WHATWG URL) takes for another host.
 */
#include <criterion/criterion.h>

#include <signal.h>
#include <stdlib.h>
#include <string.h>

#include "html.h"

static const char *const hostile[] = {
    "<b>bold</b>",
    "\" onx=\"alert(1)",
    "' onx='alert(1)",
    "javascript:alert(1)",
    "]]>",
    "-->",
    "</title></textarea></script><script>alert(1)</script>",
    "\xe2\x80\xae"
    "dlog", /* right-to-left override */
    "\xe2\x81\xa7"
    "isolate",                          /* right-to-left isolate */
    "\xd7\xa9\xd7\x9c\xd7\x95\xd7\x9d", /* Hebrew: a name like any other */
    "line\r\nSet-Cookie: a=b",
    "\x1b[31mred",
    "nul\x01\x02\x7f",
    "\xff\xfe broken \xc0\xaf",
    "\xed\xa0\x80 surrogate",
    "&amp; &lt;",
    "%s%n%s",
    NULL,
};

/* What a test has written, freed at its end. */
static char *written[64];
static size_t n_written;

static char *keep(struct html *h)
{
	cr_assert(n_written < sizeof written / sizeof *written);
	return written[n_written++] = text_take(&h->out);
}

static void forget(void)
{
	while (n_written > 0)
		free(written[--n_written]);
}

TestSuite(html, .fini = forget);

static char *text_of(const char *s)
{
	struct html h;
	html_init(&h);
	html_item(&h, "p", s);
	cr_assert(html_is_whole(&h));
	return keep(&h);
}

static char *attribute_of(const char *name, const char *s)
{
	struct html h;
	html_init(&h);
	html_open(&h, "a", name, s, NULL);
	html_close(&h, "a");
	cr_assert(html_is_whole(&h));
	return keep(&h);
}

/* The inside of "<p>...</p>\n" holds no character that means something to HTML. */
static void check_inside(
    const char *whole, const char *before, const char *after, const char *what)
{
	size_t len = strlen(whole), b = strlen(before), a = strlen(after);
	cr_assert(len >= a + b && strncmp(whole, before, b) == 0 &&
		      strcmp(whole + len - a, after) == 0,
	    "%s: %s", what, whole);
	cr_assert(utf8_is_valid(whole, len), "%s", what);
	for (const char *p = whole + b; p < whole + len - a; p++) {
		cr_expect(!strchr("<>\"'", *p), "%s: %s", what, whole);
		cr_expect((unsigned char)*p >= ' ' || *p == '\n' || *p == '\t',
		    "%s: control %d", what, *p);
		cr_expect(*p != 0x7f, "%s: DEL", what);
	}
	cr_expect(
	    !strstr(whole, "\xe2\x80\xae") && !strstr(whole, "\xe2\x81\xa7"),
	    "%s: turns direction", what);
}

Test(html, hostile_text_stays_text)
{
	for (size_t i = 0; hostile[i]; i++)
		check_inside(text_of(hostile[i]), "<p>", "</p>\n", hostile[i]);
}

Test(html, hostile_attribute_stays_one_value)
{
	for (size_t i = 0; hostile[i]; i++)
		check_inside(attribute_of("title", hostile[i]), "<a title=\"",
		    "\"></a>", hostile[i]);
}

Test(html, hostile_name_stays_apart_from_the_direction_around_it)
{
	for (size_t i = 0; hostile[i]; i++) {
		struct html h;
		html_init(&h);
		html_name(&h, hostile[i]);
		check_inside(h.out.data, "<bdi>", "</bdi>", hostile[i]);
		html_free(&h);
	}
}

Test(html, formatted_text_is_escaped_too)
{
	for (size_t i = 0; hostile[i]; i++) {
		struct html h;
		html_init(&h);
		html_itemf(&h, "p", "%s", hostile[i]);
		check_inside(h.out.data, "<p>", "</p>\n", hostile[i]);
		html_free(&h);
	}
}

Test(html, five_signs_are_written_as_entities)
{
	cr_expect_str_eq(
	    text_of("a&b<c>d\"e'f"), "<p>a&amp;b&lt;c&gt;d&quot;e&#39;f</p>\n");
	cr_expect_str_eq(
	    text_of("\xd7\xa9\xd7\x9c"), "<p>\xd7\xa9\xd7\x9c</p>\n");
	cr_expect_str_eq(text_of("a\xff"
				 "b"),
	    "<p>a\xef\xbf\xbd"
	    "b</p>\n");
}

Test(html, addresses_lead_only_to_own_paths)
{
	static const struct {
		const char *url;
		bool own;
	} rows[] = {
	    {"/", true},
	    {"/workshops/1/requests?after=3", true},
	    {"#main", true},
	    {"?after=7", true},
	    {"//evil.example", false},
	    {"/\\evil.example", false},
	    {"\\\\evil.example", false},
	    {"/\t/evil.example", false},
	    {"/\n/evil.example", false},
	    {" //evil.example", false},
	    {"https://evil.example", false},
	    {"javascript:alert(1)", false},
	    {"JaVaScRiPt:alert(1)", false},
	    {"data:text/html,x", false},
	    {"evil", false},
	    {"", false},
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
		cr_expect_eq(url_is_own(rows[i].url), rows[i].own, "\"%s\"",
		    rows[i].url);
	cr_expect_str_eq(
	    attribute_of("href", "javascript:alert(1)"), "<a href=\"/\"></a>");
	cr_expect_str_eq(
	    attribute_of("href", "//evil.example"), "<a href=\"/\"></a>");
	cr_expect_str_eq(attribute_of("href", "/a?b=1&c=\"2"),
	    "<a href=\"/a?b=1&amp;c=&quot;2\"></a>");
}

Test(html, address_parts_are_percent_encoded)
{
	for (size_t i = 0; hostile[i]; i++) {
		struct text t;
		text_init(&t, 4096);
		text_add(&t, "/join/");
		url_add_part(&t, hostile[i]);
		cr_expect_eq(
		    strspn(t.data,
			"/abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRST"
			"UVWXYZ0123456789-._~%"),
		    t.len, "%s", t.data);
		cr_expect(url_is_own(t.data));
		cr_expect(!strchr(t.data + strlen("/join/"), '/'));
		text_free(&t);
	}
	struct text t;
	text_init(&t, 100);
	url_add_part(&t, "a b/\xc3\xa9?");
	cr_expect_str_eq(t.data, "a%20b%2F%C3%A9%3F");
	text_free(&t);
}

Test(html, bare_and_absent_attributes)
{
	struct html h;
	html_init(&h);
	html_open(&h, "input", "name", "x", "value", "", "required", "",
	    "checked", (char *)NULL, "id", "y", NULL);
	html_text(&h, "");
	cr_expect_str_eq(
	    h.out.data, "<input name=\"x\" value=\"\" required id=\"y\">");
	cr_expect(html_is_whole(&h));
	html_free(&h);
}

Test(html, page_with_something_open_is_not_whole)
{
	struct html h;
	html_init(&h);
	html_open(&h, "p", NULL);
	cr_expect(!html_is_whole(&h));
	html_close(&h, "p");
	cr_expect(html_is_whole(&h));
	html_free(&h);
}

Test(html, closing_another_element_ends_the_program, .signal = SIGABRT)
{
	struct html h;
	html_init(&h);
	html_open(&h, "p", NULL);
	html_close(&h, "div");
}

Test(html, event_attribute_ends_the_program, .signal = SIGABRT)
{
	attribute_of("onclick", "x");
}

Test(html, style_attribute_ends_the_program, .signal = SIGABRT)
{
	attribute_of("style", "x");
}

Test(html, script_element_ends_the_program, .signal = SIGABRT)
{
	struct html h;
	html_init(&h);
	html_open(&h, "script", NULL);
}

Test(html, name_made_from_input_ends_the_program, .signal = SIGABRT)
{
	attribute_of("x\" onx", "x");
}

Test(html_svg, only_drawings_are_let_in)
{
	static const struct {
		const char *svg;
		bool plain;
	} rows[] = {
	    {"<svg viewBox=\"0 0 1 1\"><rect x=\"0\"/></svg>", true},
	    {"<svg><defs><pattern id=\"a\"></pattern></defs><g "
	     "fill=\"url(#a)\"><text>A &amp; B</text></g></svg>\n",
		true},
	    {"<svg><use href=\"#a\"/></svg>", true},
	    {"", false},
	    {"text", false},
	    {"<svg>", false},
	    {"<svg></svg></svg>", false},
	    {"<svg></svg><svg></svg>", false},
	    {"<svg></svg><b>", false},
	    {"<p></p>", false},
	    {"<svg><script>alert(1)</script></svg>", false},
	    {"<svg><foreignObject></foreignObject></svg>", false},
	    {"<svg><image href=\"/x\"/></svg>", false},
	    {"<svg><style>a{}</style></svg>", false},
	    {"<svg onload=\"alert(1)\"></svg>", false},
	    {"<svg ONLOAD=\"alert(1)\"></svg>", false},
	    {"<svg style=\"fill:red\"></svg>", false},
	    {"<svg><use href=\"//evil.example/#a\"/></svg>", false},
	    {"<svg><use href=\"javascript:alert(1)\"/></svg>", false},
	    {"<svg><g fill=\"url(//evil.example)\"/></svg>", false},
	    {"<svg><use href=\"#<b\"/></svg>", false},
	    {"<svg><!-- x --></svg>", false},
	    {"<svg><![CDATA[<b>]]></svg>", false},
	    {"<!DOCTYPE svg><svg></svg>", false},
	    {"<svg x='1'></svg>", false},
	    {"<svg x=1></svg>", false},
	    {"<svg><text>\xff</text></svg>", false},
	    {"<svg><text>\x01</text></svg>", false},
	    {"<svg\r></svg>", false},
	};
	for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
		cr_expect_eq(svg_is_plain(rows[i].svg, strlen(rows[i].svg)),
		    rows[i].plain, "%s", rows[i].svg);
		struct html h;
		struct text t;
		html_init(&h);
		text_init(&t, 4096);
		text_add(&t, rows[i].svg);
		cr_expect_eq(html_picture(&h, &t), rows[i].plain);
		cr_expect_eq(h.out.len > 0, rows[i].plain, "%s", rows[i].svg);
		text_free(&t);
		html_free(&h);
	}
}
