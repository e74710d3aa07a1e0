/* SPDX-License-Identifier: MIT */
/*
 * The handlers of the API, one a route; routes.c names them.
 */
#ifndef WEB_API_H
#define WEB_API_H

#include "call.h"

/* api_studio.c */
call_fn api_health, api_problem_page, api_me, api_studio, api_studio_change,
    api_events;
/* api_people.c */
call_fn api_members, api_member_add, api_member, api_member_change;
call_fn api_keys, api_key_add, api_key_revoke;
/* api_privacy.c */
call_fn api_member_export, api_member_erase;
/* api_shelf.c */
call_fn api_papers, api_paper, api_paper_add, api_paper_change;
call_fn api_stocks, api_stock, api_stock_add, api_stock_change;
/* api_workshop.c */
call_fn api_workshops, api_workshop_add, api_workshop, api_workshop_change;
call_fn api_enrolled, api_enrol, api_spoken, api_estimate, api_estimate_ask,
    api_close, api_reopen, api_torn;
/* api_join.c */
call_fn api_invitations, api_invitation_add, api_invitation_revoke, api_join;
/* api_request.c */
call_fn api_requests, api_request_add, api_request, api_request_change,
    api_request_withdraw;
/* api_plan.c */
call_fn api_plans, api_plan_add, api_plan, api_layout, api_plan_accept,
    api_plan_cancel, api_sheet;
/* api_invoice.c */
call_fn api_invoices, api_invoice_add, api_invoice, api_invoice_replace,
    api_invoice_withdraw, api_account;
/* api_money.c */
call_fn api_shares, api_settlements, api_settlement_add, api_payments,
    api_payment_add, api_booking_add;
call_fn api_payment_reverse, api_statement, api_reminders, api_reconciliation;

#endif
