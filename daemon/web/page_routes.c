/* SPDX-License-Identifier: MIT */
/*
 * page_routes.c - the rows of the pages in the table of routes.
 *
 * Forms know only GET and POST, so a change has an address of its own.  Each row has the rights
 * of the API's row that does the same (routes.c).  A POST whose path ends in /look changes
 * nothing: it shows what the next button would do.
 */
#include "api.h"
#include "pages.h"
#include "people.h"
#include "route.h"

#define S ROLE_STUDENT
#define I ROLE_INSTRUCTOR
#define T ROLE_TREASURER
#define O ROLE_OWNER

#define SHOWS ROUTE_PAGE
#define OPEN (ROUTE_PAGE | ROUTE_PUBLIC)
#define MAKES (ROUTE_PAGE | ROUTE_WRITES | ROUTE_ONCE)
/* Signing in or out twice does no harm, and there is nobody yet to keep the answer for. */
#define SIGNS (ROUTE_PAGE | ROUTE_WRITES)

/* clang-format off */
const struct route page_routes[] = {
	/* method, path, all, own, object, flags, run */
	{ HTTP_GET, "/", 0, 0, OBJECT_NONE, OPEN, page_home },
	{ HTTP_GET, "/help", 0, 0, OBJECT_NONE, OPEN, page_help },
	{ HTTP_GET, "/static/{text}", 0, 0, OBJECT_NONE, OPEN | ROUTE_NO_STORE, page_asset },

	{ HTTP_GET, "/signin", 0, 0, OBJECT_NONE, OPEN, page_signin },
	{ HTTP_POST, "/signin", 0, 0, OBJECT_NONE, SIGNS | ROUTE_PUBLIC, page_signin_post },
	{ HTTP_POST, "/signout", S | I | T | O, 0, OBJECT_NONE, SIGNS, page_signout },
	{ HTTP_GET, "/join", 0, 0, OBJECT_NONE, OPEN, page_join },
	{ HTTP_POST, "/join", 0, 0, OBJECT_NONE, OPEN, page_join_post },
	{ HTTP_GET, "/join/{text}", 0, 0, OBJECT_NONE, OPEN, page_join_code },
	{ HTTP_POST, "/join/{text}", 0, 0, OBJECT_NONE, MAKES | ROUTE_PUBLIC | ROUTE_SECRET, page_join_code_post },

	{ HTTP_GET, "/me", S | I | T | O, 0, OBJECT_NONE, SHOWS, page_me },
	{ HTTP_POST, "/me", S | I | T | O, 0, OBJECT_NONE, MAKES, page_me_post },
	{ HTTP_POST, "/me/keys", S | I | T | O, 0, OBJECT_NONE, MAKES | ROUTE_SECRET, page_me_key_post },
	{ HTTP_POST, "/me/sessions", S | I | T | O, 0, OBJECT_NONE, MAKES, page_sessions_end_post },
	{ HTTP_GET, "/keys/{id}/revoke", O, S | I | T, OBJECT_KEY, SHOWS, page_key_revoke },
	{ HTTP_POST, "/keys/{id}/revoke", O, S | I | T, OBJECT_KEY, MAKES, page_key_revoke_post },

	{ HTTP_GET, "/workshops/{id}", I | T | O, S, OBJECT_WORKSHOP, SHOWS, page_workshop },
	{ HTTP_POST, "/workshops/{id}", I, S, OBJECT_WORKSHOP, MAKES | ROUTE_SHARED, page_ask_post },
	{ HTTP_POST, "/workshops/{id}/look", I, S, OBJECT_WORKSHOP, SHOWS, page_look_post },
	{ HTTP_GET, "/requests/{id}", I, S, OBJECT_REQUEST, SHOWS, page_request },
	{ HTTP_POST, "/requests/{id}", I, S, OBJECT_REQUEST, MAKES | ROUTE_SHARED, page_request_post },
	{ HTTP_POST, "/requests/{id}/look", I, S, OBJECT_REQUEST, SHOWS, page_request_look_post },
	{ HTTP_POST, "/requests/{id}/estimate", I, S, OBJECT_REQUEST, MAKES | ROUTE_COSTLY, page_request_estimate_post },
	{ HTTP_GET, "/requests/{id}/withdraw", I, S, OBJECT_REQUEST, SHOWS, page_withdraw },
	{ HTTP_POST, "/requests/{id}/withdraw", I, S, OBJECT_REQUEST, MAKES | ROUTE_SHARED, page_withdraw_post },
	{ HTTP_GET, "/workshops/{id}/share", I | T | O, S, OBJECT_WORKSHOP, SHOWS, page_share },

	{ HTTP_GET, "/workshops/new", I | O, 0, OBJECT_NONE, SHOWS, page_workshop_new },
	{ HTTP_POST, "/workshops", I | O, 0, OBJECT_NONE, MAKES, page_workshop_new_post },
	{ HTTP_GET, "/workshops/{id}/edit", I | O, 0, OBJECT_WORKSHOP, SHOWS, page_workshop_edit },
	{ HTTP_POST, "/workshops/{id}/edit", I | O, 0, OBJECT_WORKSHOP, MAKES, page_workshop_edit_post },
	{ HTTP_GET, "/workshops/{id}/close", I | O, 0, OBJECT_WORKSHOP, SHOWS, page_close },
	{ HTTP_POST, "/workshops/{id}/close", I | O, 0, OBJECT_WORKSHOP, MAKES, page_close_post },
	{ HTTP_GET, "/workshops/{id}/reopen", I | O, 0, OBJECT_WORKSHOP, SHOWS, page_reopen },
	{ HTTP_POST, "/workshops/{id}/reopen", I | O, 0, OBJECT_WORKSHOP, MAKES, page_reopen_post },
	{ HTTP_GET, "/workshops/{id}/torn", I | O, 0, OBJECT_WORKSHOP, SHOWS, page_torn },
	{ HTTP_POST, "/workshops/{id}/torn", I | O, 0, OBJECT_WORKSHOP, MAKES, page_torn_post },
	{ HTTP_GET, "/workshops/{id}/requests", I | T | O, 0, OBJECT_WORKSHOP, SHOWS, page_requests },
	{ HTTP_POST, "/workshops/{id}/members", I | O, 0, OBJECT_WORKSHOP, MAKES, page_enrol_post },
	{ HTTP_GET, "/workshops/{id}/invite", I | O, 0, OBJECT_WORKSHOP, SHOWS, page_invite },
	{ HTTP_POST, "/workshops/{id}/invite", I | O, 0, OBJECT_WORKSHOP, MAKES | ROUTE_SECRET, page_invite_post },
	{ HTTP_POST, "/invitations/{id}/revoke", I | O, 0, OBJECT_INVITATION, MAKES, page_invite_revoke_post },

	{ HTTP_GET, "/workshops/{id}/plan", I | T | O, 0, OBJECT_WORKSHOP, SHOWS, page_plans },
	{ HTTP_POST, "/workshops/{id}/plan", I | O, 0, OBJECT_WORKSHOP, MAKES | ROUTE_COSTLY, page_plans_post },
	{ HTTP_GET, "/plans/{id}", I | T | O, S, OBJECT_PLAN, SHOWS, page_plan },
	{ HTTP_POST, "/plans/{id}/accept", I | O, 0, OBJECT_PLAN, MAKES, page_plan_accept_post },
	{ HTTP_POST, "/plans/{id}/cancel", I | O, 0, OBJECT_PLAN, MAKES, page_plan_cancel_post },
	{ HTTP_GET, "/plans/{id}/picture", I | T | O, S, OBJECT_PLAN, SHOWS, page_picture },
	{ HTTP_GET, "/plans/{id}/sheet", I | T | O, 0, OBJECT_PLAN, SHOWS, page_sheet },
	/* The same file as the API's: form=text|pdf|svg|html|json|labels and more in the query. */
	{ HTTP_GET, "/plans/{id}/sheet/file", I | T | O, 0, OBJECT_PLAN, SHOWS | ROUTE_COSTLY, api_sheet },

	{ HTTP_GET, "/reminders", T | O, 0, OBJECT_NONE, SHOWS, page_reminders },
	{ HTTP_GET, "/reminders/file", T | O, 0, OBJECT_NONE, SHOWS, api_reminders },
	{ HTTP_GET, "/members/{id}/statement", T | O, S | I, OBJECT_MEMBER, SHOWS | ROUTE_PAYER, page_statement },
	{ HTTP_GET, "/members/{id}/statement/file", T | O, S | I, OBJECT_MEMBER, SHOWS | ROUTE_PAYER, api_statement },
	{ HTTP_GET, "/workshops/{id}/account", T | O, 0, OBJECT_WORKSHOP, SHOWS, page_account },
	{ HTTP_GET, "/workshops/{id}/account/file", T | O, 0, OBJECT_WORKSHOP, SHOWS, api_account },
	{ HTTP_GET, "/workshops/{id}/money", I | T | O, 0, OBJECT_WORKSHOP, SHOWS, page_money },
	{ HTTP_POST, "/workshops/{id}/invoice/look", T | O, 0, OBJECT_WORKSHOP, SHOWS, page_invoice_look_post },
	{ HTTP_POST, "/workshops/{id}/invoice", T | O, 0, OBJECT_WORKSHOP, MAKES, page_invoice_post },
	{ HTTP_GET, "/workshops/{id}/invoices", T | O, 0, OBJECT_WORKSHOP, SHOWS, page_invoices },
	{ HTTP_POST, "/workshops/{id}/invoices", T | O, 0, OBJECT_WORKSHOP, MAKES, page_invoices_post },
	{ HTTP_GET, "/invoices/{id}/withdraw", T | O, 0, OBJECT_INVOICE, SHOWS, page_invoice_withdraw },
	{ HTTP_POST, "/invoices/{id}/withdraw", T | O, 0, OBJECT_INVOICE, MAKES, page_invoice_withdraw_post },
	{ HTTP_GET, "/workshops/{id}/bookings", T | O, 0, OBJECT_WORKSHOP, SHOWS, page_bookings },
	{ HTTP_POST, "/workshops/{id}/bookings", T | O, 0, OBJECT_WORKSHOP, MAKES, page_bookings_post },
	{ HTTP_POST, "/workshops/{id}/payments/look", T | O, 0, OBJECT_WORKSHOP, SHOWS, page_pay_look_post },
	{ HTTP_POST, "/workshops/{id}/payments", T | O, 0, OBJECT_WORKSHOP, MAKES, page_pay_post },
	{ HTTP_GET, "/payments/{id}/reverse", T | O, 0, OBJECT_ENTRY, SHOWS, page_reverse },
	{ HTTP_POST, "/payments/{id}/reverse", T | O, 0, OBJECT_ENTRY, MAKES, page_reverse_post },

	{ HTTP_GET, "/papers", I | T | O, 0, OBJECT_NONE, SHOWS, page_papers },
	{ HTTP_POST, "/papers", I | O, 0, OBJECT_NONE, MAKES, page_papers_post },
	{ HTTP_GET, "/papers/{id}", I | T | O, 0, OBJECT_PAPER, SHOWS, page_paper },
	{ HTTP_POST, "/papers/{id}", I | O, 0, OBJECT_PAPER, MAKES, page_paper_post },
	{ HTTP_POST, "/papers/{id}/stock", I | T | O, 0, OBJECT_PAPER, MAKES, page_stock_new_post },
	{ HTTP_GET, "/shelf/{text}", I | T | O, 0, OBJECT_NONE, SHOWS, page_shelf },
	{ HTTP_GET, "/stock/{id}", I | T | O, 0, OBJECT_STOCK, SHOWS, page_stock },
	{ HTTP_POST, "/stock/{id}", I | T | O, 0, OBJECT_STOCK, MAKES, page_stock_post },

	{ HTTP_GET, "/members", I | T | O, 0, OBJECT_NONE, SHOWS, page_members },
	{ HTTP_POST, "/members", I | O, 0, OBJECT_NONE, MAKES, page_members_post },
	{ HTTP_GET, "/members/{id}", I | T | O, 0, OBJECT_MEMBER, SHOWS, page_member },
	{ HTTP_POST, "/members/{id}", O, 0, OBJECT_MEMBER, MAKES, page_member_post },
	{ HTTP_POST, "/members/{id}/keys", I | O, 0, OBJECT_MEMBER, MAKES | ROUTE_SECRET, page_member_key_post },
	{ HTTP_GET, "/studio", O, 0, OBJECT_STUDIO, SHOWS, page_studio },
	{ HTTP_POST, "/studio", O, 0, OBJECT_STUDIO, MAKES, page_studio_post },
};
/* clang-format on */

const size_t n_page_routes = sizeof(page_routes) / sizeof(page_routes[0]);
