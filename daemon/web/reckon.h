/* SPDX-License-Identifier: MIT */
/*
 * What sheets may cost, before anything is closed: from plans of the requests as they stand.
 *
 * share: as the requests stand, when no more come; the rolls are paid for by who is there.
 * filled: when what is left of the rolls is asked for as well; each pays for torn paper only.
 * All at the prices of the stock, without shipping and tax.  Pure.
 */
#ifndef WEB_RECKON_H
#define WEB_RECKON_H

#include "act_plan.h"
#include "derive.h"

/* With and without one request, both planned: what it adds to the cost of all. */
struct reckon_add {
	int64_t request_id;
	money adds;
	int64_t rolls;
	bool proven;
};

/* One side of a request a little smaller, torn size: fits lie beside each other then, and the
 * share is less by `each` for every sheet, planned and shared again. */
struct reckon_hint {
	int64_t request_id;
	length across, along;
	int64_t fits;
	money each, share;
};

struct reckon_row {
	int64_t member_id;
	money share, filled;
	bool has_alone;
	money alone;
	struct reckon_add *adds;
	size_t n_adds;
	struct reckon_hint
	    *hints; /* the best first; one for a side of a request */
	size_t n_hints;
};

struct reckoning {
	money cost;
	int64_t fresh_rolls;
	enum ceiling_state ceiling;
	struct reckon_row *rows; /* by member */
	size_t n_rows;
};

bool reckon(int64_t workshop_id, struct share_rules rules,
    const struct layout *layouts, size_t n, struct arena *arena,
    struct reckoning **out, struct err *err) MUST_USE;

/*
 * The same sheets out of pads or single sheets as the studio noted them for comparison
 * (paper_row.compare): the least number of packs, one size on each sheet.  False: one of
 * the requests does not fit.
 */
struct compared {
	const char *name;
	int64_t packs;
	money cost;
};
bool reckon_compare(json_t *entry, const struct request_row *requests, size_t n,
    int64_t member_id, int64_t paper_id, struct compared *out);

#endif
