/* SPDX-License-Identifier: MIT */
/*
 * frame.c - what all pages have in common.
 *
 * The ways of the top are the same on every page and in the same order, and so are help and
 * sign-out at the foot (WCAG 3.2.3, 3.2.6).  Which of them are shown depends on the roles;
 * a hidden way is a kindness, never the protection: rights are decided before a page runs.
 */
#include "frame.h"

#include <stdio.h>
#include <string.h>

#include "answer.h"
#include "assets.h"
#include "field.h"
#include "session.h"

#define OUR_NAME "Tearshare"
#define POLICY                                                                 \
	"default-src 'none'; style-src 'self'; script-src 'self'; "            \
	"img-src 'self'; connect-src 'self'; form-action 'self'; "             \
	"base-uri 'none'; object-src 'none'; frame-ancestors 'none'"

#define STAFF (ROLE_INSTRUCTOR | ROLE_TREASURER | ROLE_OWNER)
#define EVERYBODY (ROLE_STUDENT | STAFF)

static const struct way {
	const char *path, *text;
	unsigned roles; /* 0: also when nobody is signed in */
} ways[] = {
    {"/", "Workshops", EVERYBODY},
    {"/papers", "Papers", STAFF},
    {"/members", "Members", STAFF},
    {"/studio", "Studio", ROLE_OWNER},
    {"/me", "You", EVERYBODY},
    {"/help", "Help", 0},
};

static const struct way tabs[] = {
    {"", "Sheets", EVERYBODY},
    {"/share", "Your share", EVERYBODY},
    {"/requests", "All requests", STAFF},
    {"/plan", "Plan", STAFF},
    {"/invite", "Invitation", ROLE_INSTRUCTOR | ROLE_OWNER},
    {"/money", "Money", STAFF},
};

static const struct {
	const char *word, *text;
} sayings[] = {
    {"asked", "Your sheets are asked for."},
    {"asked-for", "The sheets are asked for."},
    {"changed", "The change is saved."},
    {"withdrawn", "The request is withdrawn."},
    {"joined", "You take part in this workshop."},
    {"enrolled", "The member takes part."},
    {"made", "The workshop is made."},
    {"closed", "The workshop is closed: nobody can ask for sheets now."},
    {"reopened", "The workshop takes requests again."},
    {"torn", "The paper is noted as torn. Roll-ends worth keeping are on the "
	     "shelf."},
    {"planning", "Planning has begun."},
    {"accepted", "The plan is accepted and kept."},
    {"cancelled", "Planning is stopped."},
    {"revoked",
	"The invitation is revoked: its link and code lead nowhere now."},
    {"added", "Added."},
    {"saved", "Saved."},
    {"invoiced", "The invoice is split and everybody is charged their share."},
    {"paid", "The payment is booked."},
    {"reversed", "The payment is reversed."},
    {"booked", "It is booked."},
    {"entered", "The invoice is entered. Nobody is charged yet."},
    {"withdrawn", "The invoice is withdrawn."},
    {"ended", "The other sign-ins are ended."},
    {"key-revoked", "The key is revoked: it opens nothing now."},
    {"signed-in", "You are signed in."},
    {"signed-out", "You are signed out, and nothing is left in this browser."},
};

static bool is_somebody(const struct call *call)
{
	return call->caller.member_id != 0;
}

static void write_way(struct call *call, struct html *h, const struct way *way,
    const char *path, const char *here)
{
	if (way->roles && !call_has_role(call, way->roles))
		return;
	html_open(h, "li", NULL);
	html_open(h, "a", "href", path, "aria-current",
	    here && strcmp(way->path, here) == 0 ? "page" : NULL, NULL);
	html_text(h, way->text);
	html_close(h, "a");
	html_close(h, "li");
}

static void write_tabs(
    struct call *call, struct html *h, const struct frame *frame)
{
	html_open(
	    h, "nav", "class", "within", "aria-label", "This workshop", NULL);
	html_open(h, "ul", NULL);
	for (size_t i = 0; i < sizeof tabs / sizeof tabs[0]; i++)
		write_way(call, h, &tabs[i],
		    call_printf(call, "/workshops/%lld%s",
			(long long)frame->workshop->workshop_id, tabs[i].path),
		    frame->tab);
	html_close(h, "ul");
	html_close(h, "nav");
}

static const char *asset_path(struct call *call, const char *name)
{
	for (size_t i = 0; i < n_assets; i++)
		if (strcmp(assets[i].name, name) == 0)
			return call_printf(
			    call, "/static/%s?v=%s", name, assets[i].version);
	return "/static/missing";
}

static void write_head(struct call *call, struct html *h,
    const struct frame *frame, const char *studio)
{
	bool wrong = call->n_faults > 0 || call->err.kind != ERR_NONE;
	html_doctype(h);
	html_open(h, "html", "lang", "en", NULL);
	html_open(h, "head", NULL);
	html_open(h, "meta", "charset", "utf-8", NULL);
	html_open(h, "meta", "name", "viewport", "content",
	    "width=device-width, initial-scale=1", NULL);
	html_open(h, "title", NULL);
	html_textf(h, "%s%s", wrong ? "Error: " : "", frame->title);
	if (frame->workshop)
		html_textf(h, " - %s", frame->workshop->name);
	html_textf(h, " - %s", studio);
	html_close(h, "title");
	html_open(h, "link", "rel", "stylesheet", "href",
	    asset_path(call, "style.css"), NULL);
	if (frame->style)
		html_open(h, "link", "rel", "stylesheet", "href",
		    asset_path(call, frame->style), NULL);
	html_open(h, "link", "rel", "icon", "type", "image/svg+xml", "href",
	    asset_path(call, "icon.svg"), NULL);
	html_close(h, "head");
}

static void write_top(struct call *call, struct html *h,
    const struct frame *frame, const char *studio)
{
	html_open(h, "a", "class", "skip", "href", "#main", NULL);
	html_text(h, "Skip to the page itself");
	html_close(h, "a");
	html_open(h, "header", NULL);
	html_open(h, "div", "class", "top", NULL);
	html_open(h, "div", "class", "wide", NULL);
	html_open(h, "p", "class", "studio", NULL);
	html_open(h, "a", "href", "/", NULL);
	html_name(h, studio);
	html_close(h, "a");
	html_close(h, "p");
	html_open(h, "nav", "aria-label", "Main", NULL);
	html_open(h, "ul", NULL);
	for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++)
		write_way(call, h, &ways[i], ways[i].path, frame->here);
	if (!is_somebody(call))
		write_way(call, h, &(struct way){"/signin", "Sign in", 0},
		    "/signin", frame->here);
	html_close(h, "ul");
	html_close(h, "nav");
	html_close(h, "div");
	html_close(h, "div");
	html_open(h, "div", "class", "torn", NULL);
	html_close(h, "div");
	html_close(h, "header");
}

void frame_begin(struct call *call, struct html *h, const struct frame *frame)
{
	const char *studio = is_somebody(call) ? call->caller.studio.name
			     : frame->studio   ? frame->studio
					       : OUR_NAME;
	html_init(h);
	write_head(call, h, frame, studio);
	html_open(h, "body", NULL);
	write_top(call, h, frame, studio);
	html_open(h, "main", "id", "main", "class", "wide", NULL);
	if (frame->workshop) {
		html_open(h, "p", "class", "soft", NULL);
		html_name(h, frame->workshop->name);
		html_close(h, "p");
	}
	html_item(h, "h1", frame->title);
	if (frame->workshop)
		write_tabs(call, h, frame);
	frame_said(call, h);
	field_errors(call, h);
}

void frame_status(struct html *h, const char *text)
{
	html_open(h, "div", "class", "said", "role", "status", NULL);
	html_item(h, "p", text);
	html_close(h, "div");
}

void frame_said(struct call *call, struct html *h)
{
	const char *word =
	    call->route && !call->form ? call_query(call, "said") : NULL;

	if (!word)
		return;
	for (size_t i = 0; i < sizeof sayings / sizeof sayings[0]; i++)
		if (strcmp(sayings[i].word, word) == 0)
			frame_status(h, sayings[i].text);
}

static void write_foot(struct call *call, struct html *h)
{
	html_open(h, "footer", "class", "foot", NULL);
	html_open(h, "div", "class", "wide", NULL);
	if (is_somebody(call)) {
		html_open(h, "p", NULL);
		html_text(h, "Signed in as ");
		html_name(h, call->caller.name);
		html_close(h, "p");
		field_form(call, h, "/signout", NULL);
		field_submit(h, "Sign out", true);
		field_form_end(h);
	} else {
		html_open(h, "p", NULL);
		html_open(h, "a", "href", "/help", NULL);
		html_text(h, "Where to find help");
		html_close(h, "a");
		html_close(h, "p");
	}
	html_close(h, "div");
	html_close(h, "footer");
}

void frame_answer(struct call *call, int status, struct html *h)
{
	html_close(h, "main");
	write_foot(call, h);
	html_close(h, "body");
	html_close(h, "html");
	call_field(call, "Content-Security-Policy", POLICY);
	if (html_is_whole(h))
		call_answer(call, status, "text/html; charset=utf-8",
		    h->out.data, h->out.len);
	else
		call_answer(call, 500, "text/plain; charset=utf-8",
		    "This page is too long to be shown.\n", 35);
	html_free(h);
}

void frame_button(
    struct html *h, const char *path, const char *text, bool quiet)
{
	html_open(h, "a", "class", quiet ? "button quiet" : "button", "href",
	    path, NULL);
	html_text(h, text);
	html_close(h, "a");
}

void frame_scroll(struct html *h, const char *label)
{
	html_open(h, "section", "class", "scroll", "aria-label", label,
	    "tabindex", "0", NULL);
}

void frame_unscroll(struct html *h)
{
	html_close(h, "section");
}

void frame_head(struct html *h, const char *text, bool number)
{
	html_open(
	    h, "th", "scope", "col", "class", number ? "number" : NULL, NULL);
	html_text(h, text);
	html_close(h, "th");
}

void frame_number(struct html *h, const char *text)
{
	html_open(h, "td", "class", "number", NULL);
	html_text(h, text);
	html_close(h, "td");
}

void frame_fact(struct html *h, const char *name, const char *value)
{
	html_item(h, "dt", name);
	html_item(h, "dd", value);
}

int frame_status_of(const struct call *call)
{
	return trouble_kind(trouble_of_err(call->err.kind))->status;
}
