/* SPDX-License-Identifier: MIT */
/*
 * Erasing a member.  An action as in act_request.h.
 */
#ifndef WEB_ACT_PRIVACY_H
#define WEB_ACT_PRIVACY_H

#include "call.h"
#include "privacy.h"

struct erasure {              /* lists live as long as the call */
	struct member member; /* as it is now */
	struct erased_row went;
	struct part_row *kept;
	size_t n_kept;
	struct part_row *mentions; /* of the name or contact as they were */
	size_t n_mentions;
};

/* call->member becomes a number; one that is erased already stays as it is.  Refused
 * (ERR_CONFLICT) while something is open that needs a person to be reached. */
typedef void act_erasure_fn(struct call *call, const struct erasure *erasure);
void act_member_erase(struct call *call, act_erasure_fn *done);

/* Why rows of a table are kept under the number. */
const char *kept_why(const char *part);

#endif
