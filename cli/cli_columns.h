/* SPDX-License-Identifier: MIT */
/*
 * The columns of each kind of answer.  Names and order are a promise to scripts.
 */
#ifndef CLI_COLUMNS_H
#define CLI_COLUMNS_H

#include "table.h"

extern const struct column columns_me[], columns_studio[], columns_member[],
    columns_key[], columns_new_key[], columns_paper[], columns_stock[],
    columns_workshop[], columns_invitation[], columns_new_invitation[],
    columns_spoken[], columns_estimate[], columns_request[], columns_plan[],
    columns_job[], columns_share[], columns_settlement[], columns_entry[],
    columns_event[], columns_invoice[], columns_line[], columns_account[],
    columns_reminder[], columns_finding[], columns_size[], columns_joined[],
    columns_health[], columns_data[], columns_kept[], columns_mention[];

#endif
