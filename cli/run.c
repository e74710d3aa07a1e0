/* SPDX-License-Identifier: MIT */
/*
 * run.c - from argv to an exit status.
 */
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "command.h"
#include "status.h"

/* Eighty cells, unless a terminal says that it has more or fewer. */
static int terminal_width(FILE *out)
{
	struct winsize size;
	if (!isatty(fileno(out)) ||
	    ioctl(fileno(out), TIOCGWINSZ, &size) != 0 || size.ws_col < 40)
		return 80;
	return size.ws_col > 200 ? 200 : size.ws_col;
}

static bool run(int argc, char **argv, struct call *call, struct err *err)
{
	if (!parse_arguments(argc, argv, call, err))
		return false;
	if (call_option(call, "version"))
		return fprintf(call->pen.out, "tearshare %s\n",
			   PROJECT_VERSION) > 0;
	if (call_option(call, "help"))
		return cmd_help(call, err);
	return (call->command->local || call_settings(call, err)) &&
	       call->command->run(call, err);
}

int cli_run(int argc, char **argv, FILE *out, FILE *talk)
{
	struct call call;
	struct err err = {.kind = ERR_NONE};
	call_init(&call, out, talk);
	call.talk_is_terminal = isatty(fileno(talk));
	call.pen.width = terminal_width(out);
	bool ok = run(argc, argv, &call, &err);
	bool gone = false; /* the reader has left, as head does: no news */
	if (fflush(out) != 0 && ok) {
		gone = errno == EPIPE;
		ok = cli_fail(&err, CLI_OUTPUT,
		    "could not write the answer: %s", strerror(errno));
	}
	if (!ok && !gone) {
		call_progress(&call, "");
		status_tell(talk, &err);
	}
	call_free(&call);
	return ok ? 0 : status_exit(&err);
}
