/* SPDX-License-Identifier: MIT */
/*
 * guard.c - one step of a machine for each octet of a head.
 *
 * HTTP libraries forgive a lot (a bare LF as line end, a folded line, a NUL that cuts a
 * value), and each kindness is a place where two programs in a row can read two different
 * requests.  RFC 9112, 2.2 and 5.2, let a server refuse all of it, so we do, before any
 * parser has seen an octet.
 *
 * The limits stop at the octet that passes them: waiting for the end of a line that is
 * too long already would only give memory away.
 */
#include "guard.h"

#include <stdarg.h>
#include <stdio.h>

#define HEAD_MAX (HEAD_METHOD_MAX + HEAD_TARGET_MAX + 64 + HEAD_SECTION_MAX)
#define VERSION_MAX 16

bool refuse(
    struct refusal *r, int status, const char *hint, const char *fmt, ...)
{
	va_list args;

	r->status = status;
	va_start(args, fmt);
	vsnprintf(r->detail, sizeof(r->detail), fmt, args);
	va_end(args);
	snprintf(r->hint, sizeof(r->hint), "%s", hint ? hint : "");
	return false;
}

void guard_init(struct guard *g)
{
	*g = (struct guard){.state = GUARD_BEFORE};
	text_init(&g->head, HEAD_MAX);
}

void guard_free(struct guard *g)
{
	text_free(&g->head);
}

void guard_reset(struct guard *g)
{
	struct text head = g->head;

	*g = (struct guard){.state = GUARD_BEFORE};
	text_reset(&head);
	g->head = head;
}

bool guard_has_begun(const struct guard *g)
{
	return g->state != GUARD_AT_END &&
	       (g->state != GUARD_BEFORE || g->blank_seen);
}

static bool enter(struct guard *g, enum guard_state next)
{
	g->state = next;
	g->n_part = 0;
	return true;
}

static bool is_control(unsigned char c)
{
	return c < 0x20 || c == 0x7f;
}

/* The octets that are wrong wherever they stand; CR is judged by the states. */
static bool check_octet(struct guard *g, unsigned char c)
{
	bool after_cr = g->state == GUARD_BEFORE_CR ||
			g->state == GUARD_LINE_CR ||
			g->state == GUARD_FIELD_CR || g->state == GUARD_END_CR;

	if (after_cr && c != '\n')
		return refuse(&g->refusal, 400, "End each line with CR LF.",
		    "a carriage return stands alone in the head");
	if (c == '\n' && !after_cr)
		return refuse(&g->refusal, 400, "End each line with CR LF.",
		    "a line feed stands alone in the head");
	if (c == 0)
		return refuse(
		    &g->refusal, 400, NULL, "the head holds a NUL octet");
	if (is_control(c) && c != '\r' && c != '\n' && c != '\t')
		return refuse(&g->refusal, 400, NULL,
		    "the head holds the control character 0x%02x", c);
	return true;
}

static bool step_line(struct guard *g, unsigned char c)
{
	if (c == '\t' || c > 0x7e)
		return refuse(&g->refusal, 400,
		    "Percent-encode it in the target.",
		    "the request line holds the octet 0x%02x", c);
	if (c == '\r')
		return enter(g, GUARD_LINE_CR);
	if (c == ' ' && g->state != GUARD_VERSION)
		return enter(
		    g, g->state == GUARD_METHOD ? GUARD_TARGET : GUARD_VERSION);
	g->n_part++;
	if (g->state == GUARD_METHOD && g->n_part > HEAD_METHOD_MAX)
		return refuse(&g->refusal, 501,
		    "Use GET, HEAD, POST, PUT, PATCH or DELETE.",
		    "the method is longer than %d octets", HEAD_METHOD_MAX);
	if (g->state == GUARD_TARGET && g->n_part > HEAD_TARGET_MAX)
		return refuse(&g->refusal, 414, "Send long values in the body.",
		    "the target is longer than %d octets", HEAD_TARGET_MAX);
	if (g->state == GUARD_VERSION && g->n_part > VERSION_MAX)
		return refuse(&g->refusal, 400,
		    "A request line is METHOD, target and HTTP/1.1.",
		    "the request line does not end in an HTTP version");
	return true;
}

static bool step_before(struct guard *g, unsigned char c)
{
	if (g->state == GUARD_BEFORE_CR) {
		g->blank_seen = true;
		return enter(g, GUARD_BEFORE);
	}
	if (c != '\r')
		return enter(g, GUARD_METHOD) && step_line(g, c);
	if (g->blank_seen)
		return refuse(&g->refusal, 400, NULL,
		    "two empty lines stand before the request");
	return enter(g, GUARD_BEFORE_CR);
}

static bool count_section(struct guard *g)
{
	if (++g->n_section > HEAD_SECTION_MAX)
		return refuse(&g->refusal, 431, "Send fewer or shorter fields.",
		    "the fields are longer than %d octets in all",
		    HEAD_SECTION_MAX);
	return true;
}

static bool step_name(struct guard *g, unsigned char c)
{
	if (c == '\r')
		return enter(g, GUARD_END_CR);
	if (c == ' ' || c == '\t')
		return refuse(&g->refusal, 400, "Write each field on one line.",
		    g->n_fields ? "a field line is folded"
				: "white space stands before the first field");
	if (++g->n_fields > HEAD_FIELDS_MAX)
		return refuse(&g->refusal, 431, "Send fewer fields.",
		    "there are more than %d fields", HEAD_FIELDS_MAX);
	enter(g, GUARD_FIELD);
	g->n_part = 1;
	return count_section(g);
}

static bool step_field(struct guard *g, unsigned char c)
{
	if (c == '\r') {
		enter(g, GUARD_FIELD_CR);
	} else if (++g->n_part > HEAD_FIELD_MAX) {
		return refuse(&g->refusal, 431, "Send shorter fields.",
		    "a field is longer than %d octets", HEAD_FIELD_MAX);
	}
	return count_section(g);
}

static bool step(struct guard *g, unsigned char c)
{
	if (!check_octet(g, c))
		return false;
	switch (g->state) {
	case GUARD_BEFORE:
	case GUARD_BEFORE_CR:
		return step_before(g, c);
	case GUARD_METHOD:
	case GUARD_TARGET:
	case GUARD_VERSION:
		return step_line(g, c);
	case GUARD_LINE_CR:
		return enter(g, GUARD_NAME);
	case GUARD_NAME:
		return step_name(g, c);
	case GUARD_FIELD:
		return step_field(g, c);
	case GUARD_FIELD_CR:
		return enter(g, GUARD_NAME) && count_section(g);
	case GUARD_END_CR:
		return enter(g, GUARD_AT_END);
	case GUARD_AT_END:
		break;
	}
	return true;
}

enum guard_verdict guard_feed(
    struct guard *g, const char *bytes, size_t len, size_t *used)
{
	size_t i, from = 0;

	*used = 0;
	if (g->verdict != GUARD_MORE)
		return g->verdict;
	for (i = 0; i < len && g->verdict == GUARD_MORE; i++) {
		if (!step(g, (unsigned char)bytes[i])) {
			g->state = GUARD_AT_END;
			g->verdict = GUARD_REFUSED;
		} else if (g->state == GUARD_AT_END) {
			g->verdict = GUARD_DONE;
		} else if (g->state == GUARD_BEFORE ||
			   g->state == GUARD_BEFORE_CR) {
			from = i + 1;
		}
	}
	*used = i;
	text_add_bytes(&g->head, bytes + from, i - from);
	return g->verdict;
}
