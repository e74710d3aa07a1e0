/* SPDX-License-Identifier: MIT */
/*
 * client_explain.c - what a broken connection means, and what to do about it.
 *
 * libcurl says which step failed and OpenSSL why it does not trust a certificate; a person
 * wants to know whether it is the server, the certificate, the name or the clock.
 */
#include <curl/curl.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "client.h"
#include "status.h"

/* X509_V_ERR_... of OpenSSL's <openssl/x509_vfy.h>; the numbers are part of its interface. */
enum verify {
	V_NOT_YET_VALID = 9,
	V_EXPIRED = 10,
};

static const char *today(char buf[static 32])
{
	time_t t = time(NULL);
	struct tm tm;
	if (!gmtime_r(&t, &tm) || !strftime(buf, 32, "%Y-%m-%d %H:%M UTC", &tm))
		snprintf(buf, 32, "a time that cannot be");
	return buf;
}

static bool explain_clock(const struct wire_failure *f, struct err *err)
{
	char clock[32];
	bool early = f->verify == V_NOT_YET_VALID;
	cli_fail(err, CLI_PROTOCOL,
	    "the certificate of %s %s, says this "
	    "machine's clock (%s)",
	    f->server, early ? "is not valid yet" : "has expired",
	    today(clock));
	return err_hint(err,
	    "If the clock is wrong, set it. If it is right, the studio has to "
	    "%s "
	    "the certificate.",
	    early ? "mend" : "renew");
}

static bool explain_trust(const struct wire_failure *f, struct err *err)
{
	if (f->verify == V_NOT_YET_VALID || f->verify == V_EXPIRED)
		return explain_clock(f, err);
	/* libcurl compares the name itself and leaves the number of the chain as it was. */
	if (f->verify <= 1 && strstr(f->detail, "subject name")) {
		cli_fail(err, CLI_PROTOCOL,
		    "the certificate shown at %s is for another name: %.160s",
		    f->server, f->detail);
		return err_hint(err, "Use the name that stands in the "
				     "certificate, or ask the studio for it.");
	}
	cli_fail(err, CLI_PROTOCOL,
	    "the certificate of %s is not trusted: %.160s", f->server,
	    f->detail);
	if (f->ca)
		return err_hint(err,
		    "It is not signed by %.120s. Ask the studio for its "
		    "present "
		    "certificate file.",
		    f->ca);
	return err_hint(err,
	    "If the studio gave you a certificate file, sign in with it: "
	    "tearshare signin %.100s --ca FILE",
	    f->server);
}

static bool explain_away(const struct wire_failure *f, struct err *err)
{
	cli_fail(err, CLI_AWAY, "the server %s is not there: %.160s", f->server,
	    f->detail[0] ? f->detail : curl_easy_strerror((CURLcode)f->code));
	return err_hint(err, "Is the network up, is the server running, is the "
			     "address right? Sign in again if it has moved.");
}

/* It may or may not have been done: say so, and how to find out. */
static bool explain_doubt(const struct wire_failure *f, struct err *err)
{
	bool asked = strcmp(f->method, "GET") == 0;
	err_set(err, ERR_BUSY, "the connection to %s broke: %.160s", f->server,
	    f->detail[0] ? f->detail : curl_easy_strerror((CURLcode)f->code));
	return err_hint(err, "%s",
	    asked ? "Try again."
		  : "Whether it was done is not known: look before you repeat "
		    "it. (With --once NAME a repeat does nothing twice.)");
}

bool client_explain(const struct wire_failure *f, struct err *err)
{
	switch (f->code) {
	case CURLE_PEER_FAILED_VERIFICATION:
		return explain_trust(f, err);
	case CURLE_SSL_CACERT_BADFILE:
		cli_fail(err, CLI_SETTINGS,
		    "the certificate file %s cannot be used",
		    f->ca ? f->ca : "of this system");
		return err_hint(err, "It must be a PEM file that you may read; "
				     "name it with --ca FILE.");
	case CURLE_COULDNT_CONNECT:
	case CURLE_COULDNT_RESOLVE_HOST:
	case CURLE_COULDNT_RESOLVE_PROXY:
		return explain_away(f, err);
	case CURLE_SSL_CONNECT_ERROR:
	case CURLE_UNSUPPORTED_PROTOCOL:
	case CURLE_WEIRD_SERVER_REPLY:
	case CURLE_HTTP2:
		cli_fail(err, CLI_PROTOCOL, "%s does not speak with us: %.160s",
		    f->server, f->detail);
		return err_hint(err, "Is that the address and port of a "
				     "tearshare server, with https?");
	case CURLE_WRITE_ERROR:
	case CURLE_FILESIZE_EXCEEDED:
		return cli_fail(err, CLI_PROTOCOL,
		    "the answer of %s is larger than any of ours", f->server);
	case CURLE_OUT_OF_MEMORY:
		return err_set(err, ERR_INTERNAL, "out of memory");
	default:
		return f->sent ? explain_doubt(f, err) : explain_away(f, err);
	}
}
