/* SPDX-License-Identifier: MIT */
/*
 * The commands and their options: two tables from which parsing, --help, completion and
 * the test of the man page are drawn.
 */
#ifndef CLI_COMMAND_H
#define CLI_COMMAND_H

#include "cli_call.h"

/* One option means the same in every command that takes it. */
struct option_row {
	const char *name;
	char letter;       /* 0: none */
	const char *value; /* NULL: a switch */
	const char *
	    values; /* blank-separated choices, or "FILE", for completion; NULL: any */
	const char *help;
};

struct command {
	const char *name;
	const char *
	    verb; /* NULL: none.  The first row of a name is meant when no verb is typed */
	const char *
	    words; /* how its words are written in help: "COUNT ACROSSxALONG" */
	const char *help;
	const char
	    *options; /* blank-separated names, beside the general ones */
	const struct column *columns; /* of --plain, NULL: none */
	int least, most;              /* words */
	bool (*run)(struct call *call, struct err *err);
	bool local; /* needs no server and no settings */
};

/* Both end with an entry whose name is NULL. */
extern const struct option_row option_rows[];
extern const struct command commands[];
/* Options that every command takes, blank-separated. */
extern const char general_options[];

const struct option_row *option_find(const char *name);
/* True when `name` stands in a blank-separated list; list may be NULL. */
bool name_in_list(const char *name, const char *list);
/* True for the row that is meant when its name is typed without a verb. */
bool command_is_first(const struct command *cmd);
/* "workshop close" */
const char *command_title(char buf[static 64], const struct command *cmd);

/* Take argv apart into call; finds the command.  Help is asked for when call->command is cmd_help's. */
bool parse_arguments(
    int argc, char **argv, struct call *call, struct err *err) MUST_USE;

/* The whole program after main(); returns the exit status. */
int cli_run(int argc, char **argv, FILE *out, FILE *talk);

typedef bool command_fn(struct call *call, struct err *err);
command_fn cmd_accept, cmd_account, cmd_reminders, cmd_ask, cmd_asked,
    cmd_books, cmd_carry, cmd_change, cmd_completion, cmd_correct, cmd_estimate,
    cmd_events, cmd_health, cmd_help, cmd_invite, cmd_invite_list,
    cmd_invite_revoke, cmd_invoice_add, cmd_invoice_list, cmd_invoice_replace,
    cmd_invoice_show, cmd_invoice_withdraw, cmd_join, cmd_key_add, cmd_key_list,
    cmd_key_revoke, cmd_member_add, cmd_member_change, cmd_member_erase,
    cmd_member_export, cmd_member_list, cmd_paper_add, cmd_paper_change,
    cmd_paper_list, cmd_pay, cmd_payments, cmd_plan, cmd_plan_cancel,
    cmd_plan_layout, cmd_plan_list, cmd_plan_show, cmd_refund, cmd_reverse,
    cmd_settle, cmd_settlements, cmd_shares, cmd_sheet, cmd_signin, cmd_signout,
    cmd_size, cmd_spoken, cmd_statement, cmd_stock_add, cmd_stock_change,
    cmd_stock_list, cmd_studio, cmd_studio_change, cmd_transfer, cmd_whoami,
    cmd_withdraw, cmd_workshop_add, cmd_workshop_admit, cmd_workshop_change,
    cmd_workshop_close, cmd_workshop_list, cmd_workshop_members,
    cmd_workshop_reopen, cmd_workshop_show, cmd_workshop_torn, cmd_workshop_use,
    cmd_write_off;

#endif
