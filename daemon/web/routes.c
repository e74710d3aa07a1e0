/* SPDX-License-Identifier: MIT */
/*
 * routes.c - the table of routes, and how a path finds its row.
 *
 * The rows read like the tables of docs/protocol.md.  Where a rule of the protocol is not
 * kept by a row, the reason stands beside it.
 */
#include "route.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "api.h"
#include "people.h"

#define S ROLE_STUDENT
#define I ROLE_INSTRUCTOR
#define T ROLE_TREASURER
#define O ROLE_OWNER

#define READS 0
#define MAKES (ROUTE_WRITES | ROUTE_ONCE | ROUTE_BODY)
#define CHANGES (ROUTE_WRITES | ROUTE_MATCH | ROUTE_BODY)
#define REMOVES (ROUTE_WRITES | ROUTE_MATCH)
/* Revoking asks for no If-Match: nothing of a key or an invitation can change but that, and
 * what has leaked must be stopped by whoever knows its id, at the first try. */
#define REVOKES ROUTE_WRITES

/* clang-format off */
static const struct route api_routes[] = {
	/* method, path, all, own, object, flags, run */
	{ HTTP_GET, "/v1/health", 0, 0, OBJECT_NONE, ROUTE_PUBLIC | ROUTE_NO_STORE, api_health },
	{ HTTP_GET, "/problems/{text}", 0, 0, OBJECT_NONE, ROUTE_PUBLIC | ROUTE_NO_STORE, api_problem_page },

	{ HTTP_GET, "/v1/me", S | I | T | O, 0, OBJECT_NONE, READS, api_me },
	{ HTTP_GET, "/v1/studio", S | I | T | O, 0, OBJECT_STUDIO, READS, api_studio },
	{ HTTP_PATCH, "/v1/studio", O, 0, OBJECT_STUDIO, CHANGES, api_studio_change },
	{ HTTP_GET, "/v1/events", I | T | O, 0, OBJECT_NONE, READS, api_events },

	{ HTTP_GET, "/v1/members", I | T | O, 0, OBJECT_NONE, READS, api_members },
	{ HTTP_POST, "/v1/members", I | O, 0, OBJECT_NONE, MAKES, api_member_add },
	{ HTTP_GET, "/v1/members/{id}", I | T | O, S, OBJECT_MEMBER, READS, api_member },
	{ HTTP_PATCH, "/v1/members/{id}", O, S | I | T, OBJECT_MEMBER, CHANGES, api_member_change },
	{ HTTP_DELETE, "/v1/members/{id}", O, S | I | T, OBJECT_MEMBER, REMOVES, api_member_erase },
	{ HTTP_GET, "/v1/members/{id}/keys", O, S | I | T, OBJECT_MEMBER, READS, api_keys },
	{ HTTP_POST, "/v1/members/{id}/keys", I | O, S | T, OBJECT_MEMBER, MAKES | ROUTE_SECRET, api_key_add },
	{ HTTP_GET, "/v1/members/{id}/statement", T | O, S | I, OBJECT_MEMBER, READS | ROUTE_PAYER, api_statement },
	{ HTTP_GET, "/v1/members/{id}/export", O, S | I | T, OBJECT_MEMBER, READS, api_member_export },
	{ HTTP_DELETE, "/v1/keys/{id}", O, S | I | T, OBJECT_KEY, REVOKES, api_key_revoke },

	{ HTTP_GET, "/v1/papers", S | I | T | O, 0, OBJECT_NONE, READS, api_papers },
	{ HTTP_POST, "/v1/papers", I | O, 0, OBJECT_NONE, MAKES, api_paper_add },
	{ HTTP_GET, "/v1/papers/{id}", S | I | T | O, 0, OBJECT_PAPER, READS, api_paper },
	{ HTTP_PATCH, "/v1/papers/{id}", I | O, 0, OBJECT_PAPER, CHANGES, api_paper_change },
	{ HTTP_GET, "/v1/stock", S | I | T | O, 0, OBJECT_NONE, READS, api_stocks },
	{ HTTP_POST, "/v1/stock", I | T | O, 0, OBJECT_NONE, MAKES, api_stock_add },
	{ HTTP_GET, "/v1/stock/{id}", S | I | T | O, 0, OBJECT_STOCK, READS, api_stock },
	{ HTTP_PATCH, "/v1/stock/{id}", I | T | O, 0, OBJECT_STOCK, CHANGES, api_stock_change },

	{ HTTP_GET, "/v1/workshops", I | T | O, S, OBJECT_NONE, READS, api_workshops },
	{ HTTP_POST, "/v1/workshops", I | O, 0, OBJECT_NONE, MAKES, api_workshop_add },
	{ HTTP_GET, "/v1/workshops/{id}", I | T | O, S, OBJECT_WORKSHOP, READS, api_workshop },
	{ HTTP_PATCH, "/v1/workshops/{id}", I | O, 0, OBJECT_WORKSHOP, CHANGES, api_workshop_change },
	{ HTTP_GET, "/v1/workshops/{id}/members", I | T | O, 0, OBJECT_WORKSHOP, READS, api_enrolled },
	{ HTTP_POST, "/v1/workshops/{id}/members", I | O, 0, OBJECT_WORKSHOP, MAKES, api_enrol },
	{ HTTP_GET, "/v1/workshops/{id}/spoken", I | T | O, S, OBJECT_WORKSHOP, READS, api_spoken },
	{ HTTP_GET, "/v1/workshops/{id}/estimate", I | T | O, S, OBJECT_WORKSHOP, READS, api_estimate },
	{ HTTP_POST, "/v1/workshops/{id}/estimate", I | T | O, S, OBJECT_WORKSHOP, MAKES | ROUTE_COSTLY, api_estimate_ask },
	{ HTTP_POST, "/v1/workshops/{id}/close", I | O, 0, OBJECT_WORKSHOP, MAKES, api_close },
	{ HTTP_POST, "/v1/workshops/{id}/reopen", I | O, 0, OBJECT_WORKSHOP, MAKES, api_reopen },
	{ HTTP_POST, "/v1/workshops/{id}/torn", I | O, 0, OBJECT_WORKSHOP, MAKES, api_torn },
	{ HTTP_GET, "/v1/workshops/{id}/invitations", I | O, 0, OBJECT_WORKSHOP, READS, api_invitations },
	{ HTTP_POST, "/v1/workshops/{id}/invitations", I | O, 0, OBJECT_WORKSHOP, MAKES | ROUTE_SECRET, api_invitation_add },
	{ HTTP_DELETE, "/v1/invitations/{id}", I | O, 0, OBJECT_INVITATION, REVOKES, api_invitation_revoke },
	{ HTTP_POST, "/v1/join", S | I | T | O, 0, OBJECT_NONE, MAKES | ROUTE_PUBLIC | ROUTE_SECRET, api_join },

	{ HTTP_GET, "/v1/workshops/{id}/requests", I | T | O, S, OBJECT_WORKSHOP, READS, api_requests },
	{ HTTP_POST, "/v1/workshops/{id}/requests", I, S, OBJECT_WORKSHOP, MAKES | ROUTE_SHARED, api_request_add },
	{ HTTP_GET, "/v1/requests/{id}", I | T | O, S, OBJECT_REQUEST, READS, api_request },
	{ HTTP_PATCH, "/v1/requests/{id}", I, S, OBJECT_REQUEST, CHANGES | ROUTE_SHARED, api_request_change },
	{ HTTP_DELETE, "/v1/requests/{id}", I, S, OBJECT_REQUEST, REMOVES | ROUTE_SHARED, api_request_withdraw },

	{ HTTP_GET, "/v1/workshops/{id}/plans", I | T | O, S, OBJECT_WORKSHOP, READS, api_plans },
	{ HTTP_POST, "/v1/workshops/{id}/plans", I | O, 0, OBJECT_WORKSHOP, MAKES | ROUTE_COSTLY, api_plan_add },
	{ HTTP_GET, "/v1/plans/{id}", I | T | O, S, OBJECT_PLAN, READS, api_plan },
	{ HTTP_GET, "/v1/plans/{id}/layout", I | T | O, S, OBJECT_PLAN, READS, api_layout },
	{ HTTP_POST, "/v1/plans/{id}/accept", I | O, 0, OBJECT_PLAN, MAKES, api_plan_accept },
	{ HTTP_POST, "/v1/plans/{id}/cancel", I | O, 0, OBJECT_PLAN, MAKES, api_plan_cancel },
	{ HTTP_GET, "/v1/plans/{id}/sheet", I | T | O, 0, OBJECT_PLAN, READS | ROUTE_COSTLY, api_sheet },

	{ HTTP_GET, "/v1/workshops/{id}/shares", I | T | O, S, OBJECT_WORKSHOP, READS, api_shares },
	{ HTTP_GET, "/v1/workshops/{id}/settlements", T | O, 0, OBJECT_WORKSHOP, READS, api_settlements },
	{ HTTP_POST, "/v1/workshops/{id}/settlements", T | O, 0, OBJECT_WORKSHOP, MAKES, api_settlement_add },
	{ HTTP_GET, "/v1/workshops/{id}/invoices", T | O, 0, OBJECT_WORKSHOP, READS, api_invoices },
	{ HTTP_POST, "/v1/workshops/{id}/invoices", T | O, 0, OBJECT_WORKSHOP, MAKES, api_invoice_add },
	{ HTTP_GET, "/v1/invoices/{id}", T | O, 0, OBJECT_INVOICE, READS, api_invoice },
	{ HTTP_POST, "/v1/invoices/{id}/replace", T | O, 0, OBJECT_INVOICE, MAKES, api_invoice_replace },
	{ HTTP_POST, "/v1/invoices/{id}/withdraw", T | O, 0, OBJECT_INVOICE, MAKES, api_invoice_withdraw },
	{ HTTP_GET, "/v1/workshops/{id}/account", T | O, 0, OBJECT_WORKSHOP, READS, api_account },
	{ HTTP_POST, "/v1/workshops/{id}/bookings", T | O, 0, OBJECT_WORKSHOP, MAKES, api_booking_add },
	{ HTTP_GET, "/v1/workshops/{id}/payments", T | O, S | I, OBJECT_WORKSHOP, READS, api_payments },
	{ HTTP_POST, "/v1/workshops/{id}/payments", T | O, 0, OBJECT_WORKSHOP, MAKES, api_payment_add },
	{ HTTP_POST, "/v1/payments/{id}/reverse", T | O, 0, OBJECT_ENTRY, MAKES, api_payment_reverse },
	{ HTTP_GET, "/v1/reminders", T | O, 0, OBJECT_NONE, READS, api_reminders },
	{ HTTP_GET, "/v1/reconciliation", T | O, 0, OBJECT_NONE, READS, api_reconciliation },
};
/* clang-format on */

#undef S
#undef I
#undef T
#undef O

#define N_API (sizeof(api_routes) / sizeof(api_routes[0]))

const struct route *web_routes(size_t i)
{
	if (i < N_API)
		return &api_routes[i];
	if (i - N_API < n_page_routes)
		return &page_routes[i - N_API];
	return NULL;
}

/* One segment that is a whole number from 1, without leading zeros. */
static bool segment_is_id(const char *s, size_t len, int64_t *id)
{
	if (len == 0 || len > 18 || s[0] == '0' ||
	    strspn(s, "0123456789") < len)
		return false;
	*id = strtoll(s, NULL, 10);
	return true;
}

static bool segment_is_text(
    const char *s, size_t len, char text[static ROUTE_TEXT_MAX])
{
	if (len == 0 || len >= ROUTE_TEXT_MAX)
		return false;
	memcpy(text, s, len);
	text[len] = '\0';
	return true;
}

/* Does the path have this form?  An id that is no number names nothing: *id is 0 then. */
static bool path_matches(const char *form, const char *path, int64_t *id,
    char text[static ROUTE_TEXT_MAX])
{
	*id = 0;
	text[0] = '\0';
	while (*form != '\0' && *path != '\0') {
		size_t len = strcspn(path, "/");

		if (*form != '{') {
			if (*form++ != *path++)
				return false;
			continue;
		}
		if (form[1] == 'i') {
			if (!segment_is_id(path, len, id))
				return false;
		} else if (!segment_is_text(path, len, text)) {
			return false;
		}
		form = strchr(form, '}') + 1;
		path += len;
	}
	return *form == '\0' && *path == '\0';
}

static void allow_add(char allow[static ROUTE_ALLOW_MAX], const char *name)
{
	size_t len = strlen(allow);

	if (strstr(allow, name) == NULL)
		snprintf(allow + len, ROUTE_ALLOW_MAX - len, "%s%s",
		    len > 0 ? ", " : "", name);
}

enum route_found route_find(enum http_method method, const char *path,
    const struct route **out, int64_t *id, char text[static ROUTE_TEXT_MAX],
    char allow[static ROUTE_ALLOW_MAX])
{
	const struct route *route = NULL;

	if (method == HTTP_HEAD)
		method = HTTP_GET;
	allow[0] = '\0';
	for (size_t i = 0; (route = web_routes(i)) != NULL; i++) {
		if (!path_matches(route->path, path, id, text))
			continue;
		if (route->method == method) {
			*out = route;
			return ROUTE_FOUND;
		}
		allow_add(allow, http_method_name(route->method));
		if (route->method == HTTP_GET)
			allow_add(allow, "HEAD");
	}
	return allow[0] == '\0' ? ROUTE_UNKNOWN : ROUTE_OTHER_METHOD;
}
