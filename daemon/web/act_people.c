/* SPDX-License-Identifier: MIT */
/*
 * act_people.c - the studio, its members and their keys.
 *
 * Roles are power, so who may give them is checked here, whichever way the change came in: an
 * owner gives any, an instructor makes students, nobody else changes anybody's.
 */
#include "act_people.h"

#include <string.h>

#include "figures.h"
#include "iban.h"
#include "json_in.h"
#include "log.h"
#include "measure.h"
#include "rows.h"
#include "secret.h"
#include "sheet.h"
#include "web.h"

static const char *const role_names[] = {
    "student", "instructor", "treasurer", "owner"};

const char *role_name(unsigned role)
{
	for (size_t i = 0; i < 4; i++)
		if (role == 1u << i)
			return role_names[i];
	return NULL;
}

unsigned role_from(const char *name)
{
	for (size_t i = 0; i < 4; i++)
		if (strcmp(role_names[i], name) == 0)
			return 1u << i;
	return 0;
}

struct peopling {
	struct call *call;
	struct studio studio;
	struct member member;
	struct key key;
	char secret[WEB_KEY_TEXT];
	act_studio_fn *studio_done;
	act_member_fn *member_done;
	act_key_fn *key_done;
	call_fn *done;
};

static struct peopling *peopling_new(struct call *call)
{
	struct peopling *p = call_alloc(call, sizeof(*p));

	p->call = call;
	call->act = p;
	return p;
}

static bool is_gone(struct call *call, size_t n)
{
	if (n == 0)
		call_refuse(call, ERR_STALE, "Read it again, then change it.",
		    "it has changed in the meantime");
	return n == 0;
}

/* ---- the studio ---- */

static void on_studio_noted(struct call *call)
{
	struct peopling *p = call->act;

	p->studio_done(call, &p->studio);
}

static void on_studio(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct peopling *p = ctx;

	if (call_failed(p->call, err) || is_gone(p->call, n))
		return;
	p->studio = row_keep_studio(p->call->arena, rows);
	p->call->caller.studio = p->studio;
	call_event(p->call, "studio-changed", 0, 0, NULL, on_studio_noted);
}

static void check_prints(struct call *call, const struct studio *s)
{
	struct label_grid grid;
	struct err err = {0};

	if (!sheet_speaks(s->language))
		call_fault(call, "/language", "Send en or de.",
		    "language \"%s\" is not known", shown(call, s->language));
	if (!label_grid_read(
		s->label_grid, (enum sheet_page)s->sheet_page, &grid, &err))
		call_fault(call, "/label_grid", err.hint, "%s", err.text);
}

/* What begins as an IBAN must be one: a slip would send the money elsewhere. */
static void check_payee(struct call *call, const struct studio *s)
{
	char iban[IBAN_MAX];
	struct err err = {0};

	if (iban_is_meant(s->payee_account) &&
	    !iban_read(iban, s->payee_account, &err))
		call_fault(call, "/payee_account", err.hint, "%s", err.text);
	if (!figures_known(s->locale))
		call_fault(call, "/locale",
		    "Send en, en-GB, de, de-CH, fr or another of the manual's "
		    "list.",
		    "locale \"%s\" is not known", shown(call, s->locale));
}

static void check_studio(struct call *call, const struct studio *s)
{
	const struct {
		const char *pointer;
		length l;
	} lengths[] = {
	    {"/ruler", s->ruler_u},
	    {"/sliver", s->sliver_u},
	    {"/oversize", s->oversize_u},
	    {"/straightedge", s->straightedge_u},
	    {"/table", s->table_u},
	    {"/keep", s->keep_u},
	};

	for (size_t i = 0; i < sizeof(lengths) / sizeof(lengths[0]); i++)
		if (lengths[i].l < (i == 0 ? 1 : 0) ||
		    lengths[i].l > 100 * 1000 * MM)
			call_fault(call, lengths[i].pointer,
			    "Give a length up to 100 m.", "%s is out of range",
			    lengths[i].pointer + 1);
	if (s->ruler_u > 100 * MM)
		call_fault(call, "/ruler",
		    "Give the smallest step of the ruler, like 1/16 in.",
		    "ruler is coarser than 100 mm");
	if (currency_exponent(s->currency) < 0)
		call_fault(call, "/currency",
		    "Send a code of ISO 4217, like EUR.",
		    "currency \"%s\" is not known", shown(call, s->currency));
	check_prints(call, s);
	check_payee(call, s);
	if (s->count_max < 1 || s->count_max > 10000)
		call_fault(call, "/count_max", "Give 1 to 10000.",
		    "count_max is out of range");
}

void act_studio_change(
    struct call *call, const struct studio *studio, act_studio_fn *done)
{
	struct peopling *p = peopling_new(call);

	p->studio_done = done;
	check_studio(call, studio);
	if (!call_is_faulty(call))
		store_studio_change(call->tx, studio, on_studio, p);
}

/* ---- members ---- */

static json_t *roles_json(int64_t roles)
{
	json_t *list = json_array();

	for (size_t i = 0; i < 4; i++)
		if ((roles >> i & 1) != 0)
			json_array_append_new(list, json_string(role_names[i]));
	return list;
}

static void on_member_noted(struct call *call)
{
	struct peopling *p = call->act;

	p->member_done(call, &p->member);
}

static void note_member(struct peopling *p, const char *kind)
{
	call_event(p->call, kind, 0, p->member.member_id,
	    json_pack("{s: o, s: b}", "roles", roles_json(p->member.roles),
		"active", p->member.active),
	    on_member_noted);
}

static void on_member_added(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct peopling *p = ctx;

	(void)n;
	if (call_failed(p->call, err))
		return;
	p->member = row_keep_member(p->call->arena, rows);
	note_member(p, "member-added");
}

void act_member_add(
    struct call *call, const struct member *member, act_member_fn *done)
{
	struct peopling *p = peopling_new(call);

	p->member_done = done;
	if (!call_has_role(call, ROLE_OWNER) && member->roles != ROLE_STUDENT) {
		call_refuse(call, ERR_DENIED, "Ask the studio's owner.",
		    "an instructor may add students only");
		return;
	}
	store_member_add(call->tx, member, on_member_added, p);
}

static void on_member_changed(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct peopling *p = ctx;
	struct call *call = p->call;
	const struct member *before = &call->member;

	if (call_failed(call, err) || is_gone(call, n))
		return;
	p->member = row_keep_member(call->arena, rows);
	if (p->member.roles != before->roles ||
	    p->member.active != before->active)
		log_event(LOG_INFO, "roles-changed",
		    "req=%s peer=%s studio=%lld by=%lld member=%lld "
		    "roles=%lld->%lld active=%d->%d",
		    http_id(call->req), http_peer(call->req),
		    (long long)call->caller.studio_id,
		    (long long)call->caller.member_id,
		    (long long)p->member.member_id, (long long)before->roles,
		    (long long)p->member.roles, before->active,
		    p->member.active);
	note_member(p, "member-changed");
}

void act_member_change(
    struct call *call, const struct member *member, act_member_fn *done)
{
	struct peopling *p = peopling_new(call);
	const struct member *is = &call->member;

	p->member_done = done;
	if (!call_has_role(call, ROLE_OWNER) &&
	    (member->roles != is->roles || member->active != is->active ||
		member->guardian != is->guardian ||
		member->payer_id != is->payer_id)) {
		call_refuse(call, ERR_DENIED, "Ask the studio's owner.",
		    "you may change your name and contact only");
		return;
	}
	if (member->payer_id == member->member_id)
		call_fault(call, "/payer_id",
		    "Send null: everybody pays for themselves.",
		    "nobody is their own payer");
	if (!call_is_faulty(call))
		store_member_change(call->tx, member, on_member_changed, p);
}

/* ---- keys ---- */

static void on_key_noted(struct call *call)
{
	struct peopling *p = call->act;

	p->key_done(call, &p->key, p->secret);
}

static void on_key_added(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct peopling *p = ctx;

	(void)n;
	if (call_failed(p->call, err))
		return;
	p->key = row_keep_key(p->call->arena, rows);
	call_event(p->call, "key-added", 0, p->key.member_id,
	    json_pack("{s: I}", "key_id", (json_int_t)p->key.key_id),
	    on_key_noted);
}

void act_key_add(struct call *call, const char *name, const char *expires_at,
    act_key_fn *done)
{
	struct peopling *p = peopling_new(call);
	unsigned char hash[SECRET_SIZE];
	bool own = call->member.member_id == call->caller.member_id;

	p->key_done = done;
	if (!own && !call_has_role(call, ROLE_OWNER) &&
	    call->member.roles != ROLE_STUDENT) {
		call_refuse(call, ERR_DENIED, "Ask the studio's owner.",
		    "an instructor may make keys for students only");
		return;
	}
	if (!call->member.active) {
		call_refuse(call, ERR_CONFLICT, "Make the member active first.",
		    "member %lld is not active",
		    (long long)call->member.member_id);
		return;
	}
	p->key = (struct key){
	    .studio_id = call->caller.studio_id,
	    .member_id = call->member.member_id,
	    .name = name,
	    .expires_at = expires_at,
	};
	web_key_make(p->secret, hash);
	store_key_add(call->tx, &p->key, hash, on_key_added, p);
}

static void on_revoke_noted(struct call *call)
{
	struct peopling *p = call->act;

	p->done(call);
}

static void on_key_revoked(
    void *ctx, const void *rows, size_t n, const struct err *err)
{
	struct peopling *p = ctx;
	struct call *call = p->call;

	(void)rows;
	if (call_failed(call, err))
		return;
	if (n ==
	    0) /* it was revoked before: nothing to do, and nothing to complain of */
		p->done(call);
	else
		call_event(call, "key-revoked", 0, call->key.member_id,
		    json_pack("{s: I}", "key_id", (json_int_t)call->key.key_id),
		    on_revoke_noted);
}

void act_key_revoke(struct call *call, call_fn *done)
{
	struct peopling *p = peopling_new(call);

	p->done = done;
	store_key_revoke(call->tx, call->caller.studio_id, call->key.key_id,
	    on_key_revoked, p);
}
