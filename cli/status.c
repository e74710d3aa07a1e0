/* SPDX-License-Identifier: MIT */
/*
 * status.c - how a command can end.
 *
 * The numbers are those of <sysexits.h> (BSD) where it has a fitting one, so that scripts
 * can tell "ask again later" from "you may not"; 73 stands for a conflict, which BSD
 * does not know.
 */
#include "status.h"

#include <stdarg.h>

const struct status statuses[] = {
    {ERR_NONE, 0, "done"},
    {CLI_USAGE, 64, "the command line is not one of ours"},
    {ERR_INPUT, 65, "a value was refused: it breaks a rule"},
    {ERR_MISSING, 66, "there is no such thing, or not for you"},
    {CLI_AWAY, 69, "the server is not there"},
    {ERR_INTERNAL, 70, "a fault of the server or of this program"},
    {ERR_CONFLICT, 73, "the thing is not in the state this needs"},
    {ERR_STALE, 73, "somebody changed it meanwhile"},
    {CLI_OUTPUT, 74, "a file could not be read or written"},
    {ERR_BUSY, 75, "not now: try again"},
    {ERR_LIMIT, 75, "too often or too much at once: try again later"},
    {CLI_PROTOCOL, 76, "the server is not to be trusted or understood"},
    {ERR_UNKNOWN, 77, "no key, or one the server does not accept"},
    {ERR_DENIED, 77, "your role does not allow it"},
    {CLI_SETTINGS, 78, "the settings or the key file cannot be used"},
    {0, 0, NULL},
};

int status_exit(const struct err *err)
{
	for (const struct status *s = statuses; s->meaning; s++)
		if (s->kind == (int)err->kind)
			return s->exit;
	return 70;
}

bool cli_fail(struct err *err, enum cli_kind kind, const char *fmt, ...)
{
	char text[sizeof(err->text)];
	va_list ap;
	va_start(ap, fmt);
	vsnprintf(text, sizeof(text), fmt, ap);
	va_end(ap);
	return err_set(err, (enum err_kind)(int)kind, "%s", text);
}

void status_tell(FILE *talk, const struct err *err)
{
	fprintf(talk, "tearshare: %s\n", err->text);
	if (err->hint[0])
		fprintf(talk, "%s\n", err->hint);
}
