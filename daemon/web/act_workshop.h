/* SPDX-License-Identifier: MIT */
/*
 * Workshops from the first invitation to torn paper.  Actions as in act_request.h.
 *
 * The object of the path is call->workshop, locked; call->invitation for revoking.
 */
#ifndef WEB_ACT_WORKSHOP_H
#define WEB_ACT_WORKSHOP_H

#include "call.h"

#define WORKSHOP_PAPERS_MAX 20
#define INVITATION_USES_MAX 1000

struct workshop_in {
	const char *name;
	const char *closes_at; /* RFC 3339 in UTC */
	const char *starts_on; /* day */
	int64_t days;          /* 1..60 */
	const char *flat_on;   /* day or NULL */
	int64_t papers[WORKSHOP_PAPERS_MAX];
	size_t n_papers;
	int64_t stages;       /* 2, 3 */
	int64_t share_policy; /* enum share_policy */
	bool share_ceiling, shipping_each;
};

/* The words of enum share_policy, for json_in_word(). */
extern const char *const share_policies[];
/* One day, and otherwise as the studio does. */
struct workshop_in workshop_in_new(const struct call *call);

typedef void act_workshop_fn(
    struct call *call, const struct workshop_row *workshop);
void act_workshop_add(
    struct call *call, const struct workshop_in *in, act_workshop_fn *done);
void act_workshop_change(
    struct call *call, const struct workshop_in *in, act_workshop_fn *done);
/* The workshop as it is now, in the form of the input. */
bool workshop_in_of(struct call *call, const struct workshop_row *workshop,
    struct workshop_in *in);

void act_workshop_close(struct call *call, act_workshop_fn *done);
/* closes_at NULL: stays. */
void act_workshop_reopen(
    struct call *call, const char *closes_at, act_workshop_fn *done);
/* Paper is torn: roll-ends go to the shelf. */
void act_workshop_torn(struct call *call, act_workshop_fn *done);

/* is_new: false when the member took part already. */
typedef void act_enrol_fn(
    struct call *call, const struct member *member, bool is_new);
void act_workshop_enrol(
    struct call *call, int64_t member_id, act_enrol_fn *done);

/* The secrets of an invitation, shown this once: code is to be typed ("XXXX-XXXXX-XXXX"), token
 * stands in the link (/join/TOKEN). */
typedef void act_invitation_fn(struct call *call,
    const struct invitation *invitation, const char *code, const char *token);
/* expires_at NULL: with the closing. */
void act_invitation_add(struct call *call, const char *expires_at,
    int64_t uses_max, act_invitation_fn *done);
void act_invitation_revoke(struct call *call, call_fn *done);

/*
 * Joining.  Needs a route without object that writes.  A caller who is somebody just takes
 * part (key is NULL then); one who is nobody becomes a member with a first key.  The route
 * of the page gives that person a session instead: want_key false.
 */
struct join_in {
	const char *code; /* as typed: case, spaces and hyphens do not matter */
	const char *name, *contact;
	bool guardian;
	bool want_key;
};
struct joined {
	struct member member;
	struct workshop_row workshop;
	const char *key; /* "tsk_...", or NULL */
};
typedef void act_join_fn(struct call *call, const struct joined *joined);
void act_join(struct call *call, const struct join_in *in, act_join_fn *done);

/* For showing an invitation (GET changes nothing): call->invitation and call->workshop are
 * filled before done(call); ERR_MISSING for whatever is wrong with the code. */
void act_invitation_show(struct call *call, const char *code, call_fn *done);

/* How much of the roll is spoken for. */
struct spoken {
	struct spoken_row row;
	length widest; /* of usable stock; 0: none */
	int64_t
	    roll_tenths; /* of the largest fresh roll, rounded up; -1: there is none */
};
typedef void act_spoken_fn(
    struct call *call, const struct spoken *spoken, size_t n);
void act_workshop_spoken(struct call *call, act_spoken_fn *done);

#endif
