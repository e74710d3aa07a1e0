/* SPDX-License-Identifier: MIT */
/*
 * The handlers of the pages, one a route; page_routes.c names them.
 */
#ifndef WEB_PAGES_H
#define WEB_PAGES_H

#include "call.h"

/* page_front.c: without a workshop */
call_fn page_home, page_help, page_asset;
/* page_sign.c: in and out */
call_fn page_signin, page_signin_post, page_signout;
/* page_join.c */
call_fn page_join_code, page_join_code_post, page_join, page_join_post;
/* page_me.c: the caller's own name, keys and sessions */
call_fn page_me, page_me_post, page_me_key_post, page_key_revoke,
    page_key_revoke_post;
call_fn page_sessions_end_post;
/* page_sheets.c: one's own sheets */
call_fn page_workshop, page_ask_post, page_look_post;
call_fn page_request, page_request_post, page_request_estimate_post,
    page_request_look_post, page_withdraw, page_withdraw_post;
/* page_share.c */
call_fn page_account, page_reminders, page_share, page_statement;
/* page_workshop.c: making, closing, reopening */
call_fn page_workshop_new, page_workshop_new_post, page_workshop_edit,
    page_workshop_edit_post;
call_fn page_close, page_close_post, page_reopen, page_reopen_post, page_torn,
    page_torn_post;
/* page_requests.c */
call_fn page_requests, page_enrol_post;
/* page_invite.c */
call_fn page_invite, page_invite_post, page_invite_revoke_post;
/* page_plan.c */
call_fn page_plans, page_plans_post, page_plan, page_plan_accept_post,
    page_plan_cancel_post;
/* page_sheet.c: the plan as a picture and as a tear sheet */
call_fn page_picture, page_sheet, page_sheet_file;
/* page_money.c */
call_fn page_money, page_invoice_post, page_invoice_look_post;
/* page_invoice.c */
call_fn page_invoices, page_invoices_post, page_invoice_withdraw,
    page_invoice_withdraw_post;
/* page_book.c */
call_fn page_bookings, page_bookings_post;
/* page_pay.c */
call_fn page_pay_post, page_pay_look_post, page_reverse, page_reverse_post;
/* page_paper.c */
call_fn page_papers, page_papers_post, page_paper, page_paper_post;
call_fn page_stock_new_post, page_shelf, page_stock, page_stock_post;
/* page_people.c */
call_fn page_members, page_members_post, page_member, page_member_post,
    page_member_key_post;
/* page_studio.c */
call_fn page_studio, page_studio_post;

#endif
