/* SPDX-License-Identifier: MIT */
/*
 * commands.c - the table of options and the table of commands.
 *
 * main.c stays nearly empty so that the tests can walk over these tables.  An option means
 * the same everywhere; the words of the commands are the studio's (docs/glossary.md).
 */
#include <string.h>

#include "cli_columns.h"
#include "command.h"

/* clang-format off */
const struct option_row option_rows[] = {
	/* for every command */
	{ "help", 'h', NULL, NULL, "say how the command is used" },
	{ "plain", 0, NULL, NULL, "answer in tab-separated columns, for programs" },
	{ "json", 0, NULL, NULL, "answer with the server's JSON" },
	{ "profile", 0, "NAME", NULL, "sign in as another of your identities" },
	{ "server", 0, "URL", NULL, "ask this server instead of the one signed in at" },
	{ "ca", 0, "FILE", "FILE", "trust only the certificates in this PEM file" },
	{ "key-file", 0, "FILE", "FILE", "take the key from this file (mode 0600)" },
	{ "wait", 0, "SECONDS", NULL, "go on asking that long when the server is busy or away" },
	{ "once", 0, "NAME", NULL, "do it once only, however often it is repeated under this name" },
	{ "version", 0, NULL, NULL, "say which version this is" },
	/* for some */
	{ "active", 0, "yes|no", "yes no", "whether it is still in use" },
	{ "available", 0, "COUNT|any", "any", "how many there are" },
	{ "bank-reference", 0, "TEXT", NULL, "the bank's own name of the line on its list" },
	{ "both-measures", 0, "yes|no", "yes no", "whether inches and millimetres stand on what is printed" },
	{ "ceiling", 0, "yes|no", "yes no", "whether nobody pays more than their own sheets alone would have cost" },
	{ "closes", 0, "WHEN", NULL, "when asking ends: \"2026-11-27 17:00\"" },
	{ "colour", 0, "TEXT", NULL, "colour of the paper" },
	{ "compare", 0, "NAME, SHEETS, SIZE, AMOUNT", NULL, "a pad or single sheet to compare with: \"pad of 12, 12, 9x12in, 25.92\"; may be repeated; none: no more" },
	{ "contact", 0, "TEXT", NULL, "one way to reach the member" },
	{ "count", 0, "COUNT", NULL, "how many sheets" },
	{ "count-max", 0, "COUNT", NULL, "most sheets in one request" },
	{ "currency", 0, "CODE", NULL, "ISO 4217 code of the studio's money" },
	{ "days", 0, "COUNT", NULL, "how many days the workshop lasts" },
	{ "expires", 0, "WHEN", NULL, "when it ends to be good" },
	{ "fibre", 0, "TEXT", NULL, "fibre of the paper" },
	{ "finish", 0, "FINISH", "cold\\ press hot\\ press rough", "cold press, hot press or rough" },
	{ "flat", 0, "DAY", NULL, "day on which the paper must lie flat" },
	{ "flattening-days", 0, "COUNT", NULL, "days a torn sheet lies under weight" },
	{ "for", 0, "MEMBER", NULL, "for this member instead of yourself" },
	{ "forget-after", 0, "DAYS", NULL, "days after which a student is erased whose last workshop is settled; 0: never" },
	{ "full-names", 0, "WHOSE", "none adults all", "whose names are printed in full" },
	{ "guardian", 0, "yes|no", "yes no", "whether a guardian acts for the member" },
	{ "html", 0, "FILE", "FILE", "write a web page to this file" },
	{ "keep", 0, "LENGTH", NULL, "shortest roll-end that is kept" },
	{ "kind", 0, "KIND", "fresh roll-end offcut flat", "fresh, roll-end, offcut or flat" },
	{ "payee-name", 0, "NAME", NULL, "to whom members pay" },
	{ "payee-account", 0, "ACCOUNT", NULL, "an IBAN, or words" },
	{ "pay-within", 0, "DAYS", NULL, "days in which a charge is to be paid" },
	{ "locale", 0, "TAG", NULL, "how amounts are written on paper: en, de, de-CH, ..." },
	{ "label-grid", 0, "GRID", NULL, "how labels lie on their page: \"a4; 3 x 7; 63.5 x 38.1 mm; 7.2 x 15.1 mm; 66 x 38.1 mm\"" },
	{ "labels", 0, "FILE", "FILE", "write labels, as PDF, to this file" },
	{ "language", 0, "CODE", "en de", "language of what is printed" },
	{ "large", 0, NULL, NULL, "large print: 18 pt" },
	{ "less", 0, NULL, NULL, "the member owes less" },
	{ "lot", 0, "TEXT", NULL, "the mill's lot" },
	{ "margin", 'm', "LENGTH", NULL, "tape margin, added on each side" },
	{ "measure", 0, "UNIT", "in cm mm", "how lengths are written: in, cm or mm" },
	{ "method", 0, "TEXT", NULL, "how it was paid" },
	{ "name", 0, "TEXT", NULL, "its name" },
	{ "names-on-sheets", 0, "yes|no", "yes no", "whether names stand on the tear sheet" },
	{ "no-turn", 0, NULL, NULL, "the sheet keeps its side along the roll" },
	{ "no-wait", 0, NULL, NULL, "start only; do not wait for the end" },
	{ "note", 0, "TEXT", NULL, "a note" },
	{ "number", 0, "NUMBER", NULL, "which page, of an SVG; the number on an invoice" },
	{ "on", 0, "DAY", NULL, "day of the payment, or on the invoice" },
	{ "oversize", 0, "LENGTH", NULL, "how much larger than asked a sheet may stay" },
	{ "page", 0, "PAGE", "a4 letter", "a4 or letter" },
	{ "paper", 'p', "PAPER", NULL, "which paper: its number or name" },
	{ "payee", 0, "MEMBER", NULL, "to whom the money went, when not to the studio" },
	{ "payer", 0, "MEMBER", NULL, "who pays, when somebody else does; none: nobody else" },
	{ "csv", 0, "FILE", "FILE", "write it as CSV to this file" },
	{ "text", 0, "FILE", "FILE", "write it as text of 80 columns to this file" },
	{ "pdf", 0, "FILE", "FILE", "write a PDF to this file" },
	{ "place", 0, "TEXT", NULL, "where it lies" },
	{ "policy", 0, "POLICY", "order torn", "what is shared: order, the whole; or torn, without the roll-ends, which the studio keeps" },
	{ "price", 0, "AMOUNT", NULL, "price of one: 192.00" },
	{ "pull", 0, "SIDE", "near far", "side of the straightedge that is pulled: near or far" },
	{ "reason", 0, "TEXT", NULL, "why" },
	{ "reference", 0, "TEXT", NULL, "number of the slip or transfer" },
	{ "role", 0, "ROLE", "student instructor treasurer owner", "student, instructor, treasurer or owner; may be repeated" },
	{ "ruler", 0, "LENGTH", NULL, "smallest step of the ruler" },
	{ "rules", 0, "TEXT", NULL, "the studio's own rules, in one line" },
	{ "seen", 0, "VERSION", NULL, "change it only if this is still its version" },
	{ "sheet-page", 0, "PAGE", "a4 letter", "paper that sheets are printed on" },
	{ "shipping-each", 0, "yes|no", "yes no", "whether shipping is shared in equal parts instead of by area" },
	{ "side-up", 0, "TEXT", NULL, "which side of the paper is up" },
	{ "size", 0, "SIZE", NULL, "across x along: 9x12.5in" },
	{ "skip", 0, "COUNT", NULL, "labels of the first page that are used up" },
	{ "sliver", 0, "LENGTH", NULL, "narrowest trim that can be torn" },
	{ "spoiled", 0, "FROM..TO", NULL, "a run of the length that cannot be used; may be repeated" },
	{ "stages", 0, "2|3", "2 3", "2: strips and segments; 3: also sheets stacked in a segment" },
	{ "starts", 0, "DAY", NULL, "first day of the workshop" },
	{ "straightedge", 0, "LENGTH", NULL, "length of the straightedge" },
	{ "svg", 0, "FILE", "FILE", "write an SVG to this file" },
	{ "supplier", 0, "TEXT", NULL, "whose invoice it is" },
	{ "table", 0, "LENGTH", NULL, "length of the table" },
	{ "tax-included", 0, NULL, NULL, "tax is in the other lines: told, not added" },
	{ "time-zone", 0, "ZONE", NULL, "time zone of the studio: America/New_York" },
	{ "to", 0, "FILE", "FILE", "write it to this file (mode 0600) instead of showing it" },
	{ "turn", 't', NULL, NULL, "the sheet may lie either way on the roll" },
	{ "uses", 0, "COUNT", NULL, "how many may join with it" },
	{ "weight", 0, "GRAMS", NULL, "weight in g/m2" },
	{ "workshop", 'w', "WORKSHOP", NULL, "which workshop: its number or name" },
	{ "yes", 0, NULL, NULL, "do it, although it cannot be undone" },
	{ NULL, 0, NULL, NULL, NULL },
};

const char general_options[] =
	"help plain json profile server ca key-file wait once version";

#define STUDIO "name currency time-zone measure ruler sliver oversize stages straightedge " \
	"table keep side-up flattening-days count-max names-on-sheets full-names " \
	"language both-measures pull rules sheet-page label-grid " \
	"payee-name payee-account pay-within locale forget-after " \
	"policy ceiling shipping-each seen"

/* name, verb, words, help, options, columns, least and most words, function, local */
const struct command commands[] = {
	{ "signin", NULL, "URL < KEYFILE", "sign in at a server with a key", "", columns_me, 0, 1, cmd_signin, false },
	{ "join", NULL, "LINK", "join a workshop with an invitation", "name contact guardian", columns_joined, 1, 1, cmd_join, false },
	{ "signout", NULL, "", "forget the key on this machine", "", NULL, 0, 0, cmd_signout, false },
	{ "whoami", NULL, "", "show who you are to the server", "", columns_me, 0, 0, cmd_whoami, false },
	{ "health", NULL, "[URL]", "ask whether the server is well", "", columns_health, 0, 1, cmd_health, false },

	{ "ask", NULL, "COUNT ACROSSxALONG", "ask for sheets", "workshop paper margin turn no-turn note for", columns_request, 2, WORDS_MAX, cmd_ask, false },
	{ "asked", NULL, "[WORKSHOP]", "show what was asked for", "workshop", columns_request, 0, 1, cmd_asked, false },
	{ "change", NULL, "REQUEST", "change what was asked for", "count size margin turn no-turn note paper seen", columns_request, 1, 1, cmd_change, false },
	{ "withdraw", NULL, "REQUEST", "take a request back", "seen", NULL, 1, 1, cmd_withdraw, false },
	{ "estimate", NULL, "[WORKSHOP]", "reckon what the sheets may cost", "workshop", columns_estimate, 0, 1, cmd_estimate, false },
	{ "spoken", NULL, "[WORKSHOP]", "show how much paper is spoken for", "workshop", columns_spoken, 0, 1, cmd_spoken, false },

	{ "workshop", "list", "", "show the workshops", "", columns_workshop, 0, 0, cmd_workshop_list, false },
	{ "workshop", "show", "[WORKSHOP]", "show one workshop", "workshop", columns_workshop, 0, 1, cmd_workshop_show, false },
	{ "workshop", "add", "NAME", "set up a workshop", "closes starts days flat paper stages policy ceiling shipping-each", columns_workshop, 1, 1, cmd_workshop_add, false },
	{ "workshop", "change", "[WORKSHOP]", "change a workshop", "workshop name closes starts days flat paper stages policy ceiling shipping-each seen", columns_workshop, 0, 1, cmd_workshop_change, false },
	{ "workshop", "use", "WORKSHOP", "make it the one that is meant when none is named", "", columns_workshop, 1, 1, cmd_workshop_use, false },
	{ "workshop", "members", "[WORKSHOP]", "show who takes part", "workshop", columns_member, 0, 1, cmd_workshop_members, false },
	{ "workshop", "admit", "MEMBER", "let a member take part", "workshop", columns_member, 1, 1, cmd_workshop_admit, false },
	{ "workshop", "close", "[WORKSHOP]", "end the asking", "workshop", columns_workshop, 0, 1, cmd_workshop_close, false },
	{ "workshop", "reopen", "[WORKSHOP]", "let members ask again", "workshop closes", columns_workshop, 0, 1, cmd_workshop_reopen, false },
	{ "workshop", "torn", "[WORKSHOP]", "say that the paper is torn", "workshop", columns_workshop, 0, 1, cmd_workshop_torn, false },
	{ "invite", NULL, "[WORKSHOP]", "make a link by which a class joins", "workshop uses expires", columns_new_invitation, 0, 1, cmd_invite, false },
	{ "invite", "list", "[WORKSHOP]", "show the invitations", "workshop", columns_invitation, 0, 1, cmd_invite_list, false },
	{ "invite", "revoke", "INVITATION", "make an invitation void", "", NULL, 1, 1, cmd_invite_revoke, false },

	{ "plan", NULL, "[WORKSHOP]", "find how to tear the fewest rolls", "workshop no-wait", columns_plan, 0, 1, cmd_plan, false },
	{ "plan", "list", "[WORKSHOP]", "show the plans", "workshop", columns_plan, 0, 1, cmd_plan_list, false },
	{ "plan", "show", "[PLAN]", "show one plan", "workshop", columns_plan, 0, 1, cmd_plan_show, false },
	{ "plan", "layout", "[PLAN]", "print the layout of one paper as JSON", "workshop paper", NULL, 0, 1, cmd_plan_layout, false },
	{ "plan", "cancel", "[PLAN]", "stop planning", "workshop", columns_plan, 0, 1, cmd_plan_cancel, false },
	{ "accept", NULL, "[PLAN]", "decide to tear by a plan", "workshop", columns_plan, 0, 1, cmd_accept, false },
	{ "sheet", NULL, "[PLAN]", "print the tear sheet", "workshop pdf svg html labels page number large language label-grid skip", NULL, 0, 1, cmd_sheet, false },

	{ "shares", NULL, "[WORKSHOP]", "show what each member owes", "workshop", columns_share, 0, 1, cmd_shares, false },
	{ "invoice", "list", "[WORKSHOP]", "show the invoices of a workshop", "workshop", columns_invoice, 0, 1, cmd_invoice_list, false },
	{ "invoice", "show", "INVOICE", "show one invoice with its lines", "", columns_invoice, 1, 1, cmd_invoice_show, false },
	{ "invoice", "add", "TOTAL LINE...", "enter an invoice: rolls:PAPER=2x192.00 shipping=24.50 tax:20%=4.90", "workshop number supplier on tax-included payer note", columns_invoice, 2, WORDS_MAX, cmd_invoice_add, false },
	{ "invoice", "replace", "INVOICE TOTAL LINE...", "enter another invoice in its place", "number supplier on tax-included payer note reason", columns_invoice, 3, WORDS_MAX, cmd_invoice_replace, false },
	{ "invoice", "withdraw", "INVOICE", "take an invoice out of the books", "reason", columns_invoice, 1, 1, cmd_invoice_withdraw, false },
	{ "settle", NULL, "[[PAPER=]AMOUNT...]", "split the invoices and charge the members", "workshop", columns_settlement, 0, WORDS_MAX, cmd_settle, false },
	{ "settlements", NULL, "[WORKSHOP]", "show what was charged when", "workshop", columns_settlement, 0, 1, cmd_settlements, false },
	{ "pay", NULL, "MEMBER AMOUNT", "book a payment", "workshop method reference bank-reference payer payee on reason", columns_entry, 2, 2, cmd_pay, false },
	{ "payments", NULL, "[WORKSHOP]", "show charges and payments", "workshop", columns_entry, 0, 1, cmd_payments, false },
	{ "refund", NULL, "MEMBER AMOUNT", "give money back", "workshop reason method reference bank-reference payee on", columns_entry, 2, 2, cmd_refund, false },
	{ "write-off", NULL, "MEMBER AMOUNT", "give up what a member owes", "workshop reason", columns_entry, 2, 2, cmd_write_off, false },
	{ "correct", NULL, "MEMBER AMOUNT", "put right what a member owes", "workshop reason less", columns_entry, 2, 2, cmd_correct, false },
	{ "transfer", NULL, "MEMBER MEMBER AMOUNT", "move a member's credit to another", "workshop reason", columns_entry, 3, 3, cmd_transfer, false },
	{ "carry", NULL, "MEMBER AMOUNT WORKSHOP", "carry a member's credit to another workshop", "workshop reason", columns_entry, 3, 3, cmd_carry, false },
	{ "reverse", NULL, "ENTRY", "take a booking back by a reversing entry", "reason", columns_entry, 1, 1, cmd_reverse, false },
	{ "statement", NULL, "[MEMBER]", "show requests, share, payments and balance", "workshop pdf text csv", columns_entry, 0, 1, cmd_statement, false },
	{ "reminders", NULL, "", "show who still owes, since when and how much", "pdf text csv", columns_reminder, 0, 0, cmd_reminders, false },
	{ "account", NULL, "[WORKSHOP]", "show what each account holds", "workshop pdf text csv", columns_account, 0, 1, cmd_account, false },
	{ "books", NULL, "", "see whether the books agree", "", columns_finding, 0, 0, cmd_books, false },

	{ "studio", NULL, "", "show the studio", "", columns_studio, 0, 0, cmd_studio, false },
	{ "studio", "change", "", "change the studio", STUDIO, columns_studio, 0, 0, cmd_studio_change, false },
	{ "member", "list", "", "show the members", "", columns_member, 0, 0, cmd_member_list, false },
	{ "member", "add", "NAME", "add a member", "contact role guardian", columns_member, 1, 1, cmd_member_add, false },
	{ "member", "change", "MEMBER", "change a member", "name contact role guardian payer active seen", columns_member, 1, 1, cmd_member_change, false },
	{ "member", "export", "[MEMBER]", "get all that is kept of you, or of a member", "to csv", columns_data, 0, 1, cmd_member_export, false },
	{ "member", "erase", "MEMBER", "make a member a number, for good", "yes seen", columns_kept, 1, 1, cmd_member_erase, false },
	{ "key", "list", "", "show your keys, or a member's", "for", columns_key, 0, 0, cmd_key_list, false },
	{ "key", "add", "[NAME]", "make a key; it is shown this once", "for expires to", columns_new_key, 0, 1, cmd_key_add, false },
	{ "key", "revoke", "KEY", "make a key void", "", NULL, 1, 1, cmd_key_revoke, false },
	{ "paper", "list", "", "show the papers", "", columns_paper, 0, 0, cmd_paper_list, false },
	{ "paper", "add", "NAME", "add a paper", "weight finish fibre colour compare", columns_paper, 1, 1, cmd_paper_add, false },
	{ "paper", "change", "PAPER", "change a paper", "name weight finish fibre colour compare active seen", columns_paper, 1, 1, cmd_paper_change, false },
	{ "stock", "list", "[PAPER]", "show rolls, roll-ends, offcuts and flat sheets", "paper", columns_stock, 0, 1, cmd_stock_list, false },
	{ "stock", "add", "PAPER KIND WIDTHxLENGTH", "add stock of a paper", "name price available spoiled lot place", columns_stock, 3, WORDS_MAX, cmd_stock_add, false },
	{ "stock", "change", "STOCK", "change stock", "kind name size price available spoiled lot place active seen", columns_stock, 1, 1, cmd_stock_change, false },
	{ "events", NULL, "[WORKSHOP]", "show what happened", "workshop", columns_event, 0, 1, cmd_events, false },

	{ "size", NULL, "SIZE", "convert a size, add the tape margin", "margin ruler", columns_size, 1, WORDS_MAX, cmd_size, true },
	{ "completion", NULL, "bash", "print the completion for a shell", "", NULL, 1, 1, cmd_completion, true },
	{ "help", NULL, "[COMMAND]", "show the commands, or how one is used", "", NULL, 0, 2, cmd_help, true },
	{ NULL, NULL, NULL, NULL, NULL, NULL, 0, 0, NULL, false },
};
/* clang-format on */

const struct option_row *option_find(const char *name)
{
	for (const struct option_row *o = option_rows; o->name; o++)
		if (strcmp(o->name, name) == 0)
			return o;
	return NULL;
}

bool name_in_list(const char *name, const char *list)
{
	size_t n = strlen(name);
	for (const char *at = list; at && *at;) {
		size_t len = strcspn(at, " ");
		if (len == n && memcmp(at, name, n) == 0)
			return true;
		at += len + strspn(at + len, " ");
	}
	return false;
}

bool command_is_first(const struct command *cmd)
{
	return cmd == commands || strcmp(cmd[-1].name, cmd->name) != 0;
}

const char *command_title(char buf[static 64], const struct command *cmd)
{
	snprintf(buf, 64, "%s%s%s", cmd->name, cmd->verb ? " " : "",
	    cmd->verb ? cmd->verb : "");
	return buf;
}
