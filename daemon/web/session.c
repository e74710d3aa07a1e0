/* SPDX-License-Identifier: MIT */
/*
 * session.c - who is this browser, and is the form it sends one of ours?
 *
 * Against forms of other sites stand three things, each enough by itself in a browser of today:
 * SameSite=Lax (no cookie comes along), Origin or Sec-Fetch-Site, and the token.
 */
#include "session.h"

#include <openssl/crypto.h>
#include <openssl/evp.h>
#include <openssl/hmac.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "form.h"
#include "call_inner.h"
#include "page.h"
#include "text.h"
#include "web_inner.h"

#define COOKIE_PLAIN "studio"
#define COOKIE_SECURE "__Host-studio"
#define AGENT_MAX 120

static const char *cookie_name(bool secure)
{
	return secure ? COOKIE_SECURE : COOKIE_PLAIN;
}

static bool is_value(const char *s, size_t len)
{
	return len == SECRET_TEXT - 1 &&
	       strspn(s, "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
			 "0123456789-_") >= len;
}

bool session_cookie_read(
    const char *header, bool secure, char value[static SECRET_TEXT])
{
	const char *name = cookie_name(secure);
	size_t n = strlen(name);
	for (const char *p = header; p && *p;) {
		p += strspn(p, " \t;");
		size_t len = strcspn(p, ";");
		if (len > n && strncmp(p, name, n) == 0 && p[n] == '=' &&
		    is_value(p + n + 1, len - n - 1)) {
			memcpy(value, p + n + 1, SECRET_TEXT - 1);
			value[SECRET_TEXT - 1] = '\0';
			return true;
		}
		p += len;
	}
	return false;
}

void session_cookie_set(struct call *call, const char *value)
{
	bool secure = call->web->config.secure;
	call_field(call, "Set-Cookie",
	    call_printf(call,
		"%s=%s; Path=/; Max-Age=%d; HttpOnly; SameSite=Lax%s",
		cookie_name(secure), value ? value : "",
		value ? SESSION_SECONDS : 0, secure ? "; Secure" : ""));
}

void session_token(const char *cookie, char token[static FORM_TOKEN_TEXT])
{
	static const char purpose[] = "form";
	unsigned char mac[EVP_MAX_MD_SIZE], text[64];
	unsigned len = 0;
	HMAC(EVP_sha256(), cookie, (int)strlen(cookie),
	    (const unsigned char *)purpose, sizeof purpose - 1, mac, &len);
	EVP_EncodeBlock(text, mac, 32);
	for (size_t i = 0; i < FORM_TOKEN_TEXT - 1; i++)
		token[i] = (char)(text[i] == '+'   ? '-'
				  : text[i] == '/' ? '_'
						   : text[i]);
	token[FORM_TOKEN_TEXT - 1] = '\0';
}

bool session_token_is_good(const char *cookie, const char *token)
{
	char good[FORM_TOKEN_TEXT];
	session_token(cookie, good);
	return strlen(token) == FORM_TOKEN_TEXT - 1 &&
	       CRYPTO_memcmp(good, token, FORM_TOKEN_TEXT - 1) == 0;
}

bool session_is_same_site(const char *site, const char *origin,
    const char *own_origin, bool has_token)
{
	if (site)
		return strcmp(site, "same-origin") == 0 &&
		       (!origin || strcmp(origin, "null") == 0 ||
			   strcmp(origin, own_origin) == 0);
	if (!origin)
		return true;
	if (strcmp(origin, "null") == 0)
		return has_token;
	return strcmp(origin, own_origin) == 0;
}

/* ---- reading a call to a page ---- */

static bool is_form(const char *type)
{
	static const char form[] = "application/x-www-form-urlencoded";
	size_t n = sizeof form - 1;
	return type && strncasecmp(type, form, n) == 0 &&
	       (type[n] == '\0' || type[n] == ';' || type[n] == ' ');
}

static bool read_form(struct call *call)
{
	size_t len = 0;
	const char *body = http_body(call->req, &len);

	if (!is_form(http_header(call->req, "Content-Type")))
		return set_trouble(call, TROUBLE_MEDIA,
		    "Send the form of the page.",
		    "a page takes its own form and no files");
	call->form = call_alloc(call, sizeof(*call->form));
	return form_parse(call->form, body, len, &call->err) ||
	       set_trouble(call, TROUBLE_MALFORMED, call->err.hint, "%s",
		   call->err.text);
}

/*
 * A form of a page that is open to all may have been written before somebody signed in, or
 * after a session ended: its handler looks at the token when there is a caller.
 */
static bool check_form(struct call *call)
{
	const char *token = form_get(call->form, "token");
	bool open_to_all = (call->route->flags & ROUTE_PUBLIC) != 0;

	if (!session_is_same_site(http_header(call->req, "Sec-Fetch-Site"),
		http_header(call->req, "Origin"), call_origin(call),
		token != NULL)) {
		err_set(&call->err, ERR_DENIED,
		    "this form was sent from a page that is not ours");
		return err_hint(&call->err,
		    "Open the page here and send the form from it.");
	}
	return open_to_all || !call->secret || session_form_is_bound(call);
}

bool session_form_is_bound(struct call *call)
{
	const char *token = form_get(call->form, "token");

	if (token && session_token_is_good(call->secret, token))
		return true;
	err_set(&call->err, ERR_DENIED, "this form belongs to another sign-in");
	return err_hint(&call->err,
	    "Go back, load the page again, and send the form once more.");
}

bool page_read(struct call *call)
{
	char value[SECRET_TEXT];

	if (session_cookie_read(http_header(call->req, "Cookie"),
		call->web->config.secure, value))
		call->secret = call_printf(call, "%s", value);
	if (call->route->method != HTTP_POST)
		return true;
	return read_form(call) && check_form(call);
}

static const char *field_or_null(const struct call *call, const char *name)
{
	const char *value = call->form ? form_get(call->form, name) : NULL;
	return value && *value ? value : NULL;
}

const char *page_once_key(const struct call *call)
{
	return field_or_null(call, "once");
}

const char *page_version(const struct call *call)
{
	return field_or_null(call, "version");
}

/* ---- starting a session ---- */

struct start {
	int64_t studio_id, member_id;
	char secret[SECRET_TEXT];
	call_fn *next;
	void *state_before;
};

static void on_session(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	struct start *start = call->state;
	(void)rows;
	(void)n;
	if (call_failed(call, err))
		return;
	session_cookie_set(call, start->secret);
	call->state = start->state_before;
	start->next(call);
}

static void add_session(struct call *call)
{
	struct start *start = call->state;
	unsigned char hash[SECRET_SIZE];
	secret_hash(start->secret, hash);
	const char *agent = http_header(call->req, "User-Agent");
	size_t len = agent ? strlen(agent) : 0;
	if (len > AGENT_MAX)
		len = AGENT_MAX;
	if (!agent || !utf8_is_line(agent, len))
		agent = "", len = 0;
	store_session_add(call->tx, start->studio_id, start->member_id, hash,
	    call_printf(call, "%.*s", (int)len, agent), on_session, call);
}

static void on_old_ended(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct call *call = ctx;
	(void)rows;
	(void)n;
	if (!call_failed(call, err))
		add_session(call);
}

void session_start(struct call *call, int64_t studio_id, int64_t member_id,
    const char **secret, call_fn *next)
{
	struct start *start = call_alloc(call, sizeof *start);
	*start = (struct start){.studio_id = studio_id,
	    .member_id = member_id,
	    .next = next,
	    .state_before = call->state};
	secret_make(start->secret);
	if (secret)
		*secret = start->secret;
	call->state = start;
	if (call->caller.session_id)
		store_session_end(call->tx, call->caller.studio_id,
		    call->caller.session_id, on_old_ended, call);
	else
		add_session(call);
}
