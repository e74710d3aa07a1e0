/* SPDX-License-Identifier: MIT */
/*
 * The frame of every page: head, the studio's name, the ways to other pages, what was said,
 * what was wrong, help and the way out.
 *
 *     struct html h;
 *     frame_begin(call, &h, &(struct frame){.title = "Papers", .here = "/papers"});
 *     ...
 *     frame_answer(call, 200, &h);         closes the frame, answers, frees; call is gone
 */
#ifndef WEB_FRAME_H
#define WEB_FRAME_H

#include "call.h"
#include "html.h"

struct frame {
	const char *title; /* the h1 too */
	const char
	    *here; /* path of the entry of the main ways that leads here */
	const char *studio; /* its name when there is no caller; NULL: ours */
	/* Inside a workshop: its tabs stand below the title. */
	const struct workshop_row *workshop;
	const char *tab;   /* "", "/share", ...: the tab that is this page */
	const char *style; /* a second style sheet; NULL: none */
	bool big_table;    /* the picture or table may use the width */
};

void frame_begin(struct call *call, struct html *h, const struct frame *frame);
void frame_answer(struct call *call, int status, struct html *h);

/* "Saved." and the like, named by ?said=WORD: fixed texts, so that no link can make a page say
 * something else.  Written by frame_begin(). */
void frame_said(struct call *call, struct html *h);
/* Something to tell that is not an error: an element with role=status. */
void frame_status(struct html *h, const char *text);

/* A link that looks like a button; quiet: the lesser one. */
void frame_button(
    struct html *h, const char *path, const char *text, bool quiet);
/* A box that scrolls by itself when it is too wide; ends with frame_unscroll(). */
void frame_scroll(struct html *h, const char *label);
void frame_unscroll(struct html *h);
/* <th scope="col">, class number when it holds numbers */
void frame_head(struct html *h, const char *text, bool number);
/* <td class="number"> */
void frame_number(struct html *h, const char *text);
/* dt and dd */
void frame_fact(struct html *h, const char *name, const char *value);

/* The status that belongs to call->err and the faults. */
int frame_status_of(const struct call *call);

#endif
