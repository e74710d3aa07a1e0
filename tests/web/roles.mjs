#!/usr/bin/env node
// SPDX-License-Identifier: MIT
/*
 * Every route of the API, every kind of caller, every kind of object.
 *
 * The rights below are written from docs/protocol.md and not from the table of routes: for
 * each of student, instructor, treasurer, owner "all", "own" or nothing.  A route without its
 * row here fails, and so does a row without a route.
 *
 * A call that writes is sent so that it stops at the first rule after the rights (a member
 * that is not known, a version that never was), so nothing changes while 200 doors are tried.
 * Revoking has no such rule: each try gets a key or an invitation of its own.
 */
import { startServer, finish, expect, routes, planned } from "./api.mjs";

const rights = [
	/* method, path, object, S, I, T, O */
	["GET", "/v1/me", null, "all", "all", "all", "all"],
	["GET", "/v1/studio", null, "all", "all", "all", "all"],
	["PATCH", "/v1/studio", null, "", "", "", "all"],
	["GET", "/v1/events", null, "", "all", "all", "all"],
	["GET", "/v1/members", null, "", "all", "all", "all"],
	["POST", "/v1/members", null, "", "all", "", "all"],
	["GET", "/v1/members/{id}", "member", "own", "all", "all", "all"],
	["PATCH", "/v1/members/{id}", "member", "own", "own", "own", "all"],
	["DELETE", "/v1/members/{id}", "member", "own", "own", "own", "all"],
	["GET", "/v1/members/{id}/keys", "member", "own", "own", "own", "all"],
	["POST", "/v1/members/{id}/keys", "member", "own", "all", "own", "all"],
	["GET", "/v1/members/{id}/statement", "member", "own", "own", "all", "all"],
	["GET", "/v1/members/{id}/export", "member", "own", "own", "own", "all"],
	["DELETE", "/v1/keys/{id}", "key", "own", "own", "own", "all"],
	["GET", "/v1/papers", null, "all", "all", "all", "all"],
	["POST", "/v1/papers", null, "", "all", "", "all"],
	["GET", "/v1/papers/{id}", "paper", "all", "all", "all", "all"],
	["PATCH", "/v1/papers/{id}", "paper", "", "all", "", "all"],
	["GET", "/v1/stock", null, "all", "all", "all", "all"],
	["POST", "/v1/stock", null, "", "all", "all", "all"],
	["GET", "/v1/stock/{id}", "stock", "all", "all", "all", "all"],
	["PATCH", "/v1/stock/{id}", "stock", "", "all", "all", "all"],
	["GET", "/v1/workshops", null, "all", "all", "all", "all"], /* a student's list is shorter */
	["POST", "/v1/workshops", null, "", "all", "", "all"],
	["GET", "/v1/workshops/{id}", "workshop", "own", "all", "all", "all"],
	["PATCH", "/v1/workshops/{id}", "workshop", "", "all", "", "all"],
	["GET", "/v1/workshops/{id}/members", "workshop", "", "all", "all", "all"],
	["POST", "/v1/workshops/{id}/members", "workshop", "", "all", "", "all"],
	["GET", "/v1/workshops/{id}/spoken", "workshop", "own", "all", "all", "all"],
	["GET", "/v1/workshops/{id}/estimate", "workshop", "own", "all", "all", "all"],
	["POST", "/v1/workshops/{id}/estimate", "workshop", "own", "all", "all", "all"],
	["POST", "/v1/workshops/{id}/close", "workshop", "", "all", "", "all"],
	["POST", "/v1/workshops/{id}/reopen", "workshop", "", "all", "", "all"],
	["POST", "/v1/workshops/{id}/torn", "workshop", "", "all", "", "all"],
	["GET", "/v1/workshops/{id}/invitations", "workshop", "", "all", "", "all"],
	["POST", "/v1/workshops/{id}/invitations", "workshop", "", "all", "", "all"],
	["DELETE", "/v1/invitations/{id}", "invitation", "", "all", "", "all"],
	["GET", "/v1/workshops/{id}/requests", "workshop", "own", "all", "all", "all"],
	["POST", "/v1/workshops/{id}/requests", "workshop", "own", "all", "", ""],
	["GET", "/v1/requests/{id}", "request", "own", "all", "all", "all"],
	["PATCH", "/v1/requests/{id}", "request", "own", "all", "", ""],
	["DELETE", "/v1/requests/{id}", "request", "own", "all", "", ""],
	["GET", "/v1/workshops/{id}/plans", "workshop", "own", "all", "all", "all"],
	["POST", "/v1/workshops/{id}/plans", "workshop", "", "all", "", "all"],
	["GET", "/v1/plans/{id}", "plan", "own", "all", "all", "all"],
	["GET", "/v1/plans/{id}/layout", "plan", "own", "all", "all", "all"],
	["POST", "/v1/plans/{id}/accept", "plan", "", "all", "", "all"],
	["POST", "/v1/plans/{id}/cancel", "plan", "", "all", "", "all"],
	["GET", "/v1/plans/{id}/sheet", "plan", "", "all", "all", "all"],
	["GET", "/v1/workshops/{id}/shares", "workshop", "own", "all", "all", "all"],
	["GET", "/v1/workshops/{id}/settlements", "workshop", "", "", "all", "all"],
	["POST", "/v1/workshops/{id}/settlements", "workshop", "", "", "all", "all"],
	["GET", "/v1/workshops/{id}/invoices", "workshop", "", "", "all", "all"],
	["POST", "/v1/workshops/{id}/invoices", "workshop", "", "", "all", "all"],
	["GET", "/v1/invoices/{id}", "invoice", "", "", "all", "all"],
	["POST", "/v1/invoices/{id}/replace", "invoice", "", "", "all", "all"],
	["POST", "/v1/invoices/{id}/withdraw", "invoice", "", "", "all", "all"],
	["GET", "/v1/workshops/{id}/account", "workshop", "", "", "all", "all"],
	["POST", "/v1/workshops/{id}/bookings", "workshop", "", "", "all", "all"],
	["GET", "/v1/workshops/{id}/payments", "workshop", "own", "own", "all", "all"],
	["POST", "/v1/workshops/{id}/payments", "workshop", "", "", "all", "all"],
	["POST", "/v1/payments/{id}/reverse", "entry", "", "", "all", "all"],
	["GET", "/v1/reminders", null, "", "", "all", "all"],
	["GET", "/v1/reconciliation", null, "", "", "all", "all"],
];
const open = new Set(["GET /v1/health", "GET /problems/{text}", "POST /v1/join"]);
const kinds = ["student", "instructor", "treasurer", "owner"];
const unknown = 999999999;

/* One studio with one member of each role, a second student, and something of each kind. */
async function fill(server, ownerKey) {
	const owner = server.caller(ownerKey);
	const me = (await owner.get("/v1/me")).json;
	const w = { owner, studio: me.studio.id, callers: { owner }, ids: { owner: me.member.id } };
	for (const [name, roles] of [["student", ["student"]], ["other", ["student"]],
			["outsider", ["student"]], ["instructor", ["instructor"]], ["treasurer", ["treasurer"]]]) {
		const member = await owner.made("/v1/members", { name, roles, contact: `${name}@example.org` });
		const key = await owner.made(`/v1/members/${member.id}/keys`, { name: "test" });
		w.ids[name] = member.id;
		w.callers[name] = server.caller(key.key);
	}
	const i = w.callers.instructor;
	w.paper = (await i.made("/v1/papers", { name: "Cold press 300", weight_gsm: 300, finish: "cold press" })).id;
	w.stock = (await i.made("/v1/stock", { paper_id: w.paper, kind: "fresh", name: "45 in roll",
		width: "45 in", length: "10 yd", price_minor: 19200 })).id;
	const workshop = { closes_at: "2099-01-01T00:00:00Z", starts_on: "2099-01-05", papers: [w.paper] };
	w.workshop = (await i.made("/v1/workshops", { name: "Open", ...workshop })).id;
	w.planned = (await i.made("/v1/workshops", { name: "Planned", ...workshop })).id;
	w.foreign = (await i.made("/v1/workshops", { name: "Nobody's", ...workshop })).id;
	const ask = { paper_id: w.paper, count: 3, across: "9 in", along: "12 in" };
	w.requests = {};
	for (const id of [w.workshop, w.planned])
		for (const name of ["student", "other", "instructor", "treasurer", "owner"]) {
			await i.made(`/v1/workshops/${id}/members`, { member_id: w.ids[name] });
			w.requests[name] = (await i.made(`/v1/workshops/${id}/requests`,
				{ ...ask, member_id: w.ids[name] })).id;
		}
	for (const name of ["student", "other", "instructor", "treasurer", "owner"])
		w.requests[name] = (await i.made(`/v1/workshops/${w.workshop}/requests`,
			{ ...ask, member_id: w.ids[name] })).id;
	await i.made(`/v1/workshops/${w.planned}/close`, {});
	w.plan = (await planned(i, (await i.made(`/v1/workshops/${w.planned}/plans`, {})).id)).id;
	await i.made(`/v1/plans/${w.plan}/accept`, {});
	w.unaccepted = (await planned(i, (await i.made(`/v1/workshops/${w.planned}/plans`, {})).id)).id;
	w.entry = (await w.callers.treasurer.made(`/v1/workshops/${w.workshop}/payments`,
		{ member_id: w.ids.student, amount_minor: 500 })).id;
	w.invoice = (await w.callers.treasurer.made(`/v1/workshops/${w.workshop}/invoices`,
		{ total_minor: 500, lines: [{ kind: "shipping", amount_minor: 500 }] })).id;
	return w;
}

/* The id of an object that is the caller's own, or somebody else's. */
async function objectOf(w, object, kind, own) {
	switch (object) {
	case "member": return own ? w.ids[kind] : w.ids.other;
	case "key": {
		const id = own ? w.ids[kind] : w.ids.other;
		return (await w.owner.made(`/v1/members/${id}/keys`, { name: "to be revoked" })).id;
	}
	case "paper": return w.paper;
	case "stock": return w.stock;
	case "workshop": return own ? w.workshop : w.foreign;
	case "invitation": return (await w.owner.made(`/v1/workshops/${w.workshop}/invitations`, {})).id;
	case "request": return own ? w.requests[kind] : w.requests.other;
	case "plan": return own ? w.plan : w.unaccepted;
	case "entry": return w.entry;
	case "invoice": return w.invoice;
	}
	throw new Error(object);
}

/* Sent so that it ends at the first rule after the rights. */
function door(method, path) {
	const query = path.endsWith("/statement") ? "?workshop=__W__" : "";
	if (method === "POST")
		return { query, options: { body: { nonsense: 1 }, headers: { "Idempotency-Key": `"m${door.n = (door.n ?? 0) + 1}"` } } };
	if (method === "PATCH")
		return { query, options: { body: { nonsense: 1 }, headers: { "If-Match": '"999999"' } } };
	if (method === "DELETE")
		return { query, options: { headers: /^.v1.(requests|members)/.test(path) ? { "If-Match": '"999999"' } : {} } };
	return { query, options: {} };
}

async function knock(w, caller, method, path, id) {
	const { query, options } = door(method, path);
	return caller.send(method, path.replace("{id}", id) + query.replace("__W__", w.workshop), options);
}

/* What is told, without what is different in each answer. */
function told(answer) {
	const { "request-id": a, date: b, ...headers } = answer.headers;
	const json = { ...answer.json };
	delete json.request_id;
	return JSON.stringify([answer.status, headers, json]);
}

const reaches = (answer) => ![401, 403, 404].includes(answer.status);

/* Who may not do it sees at least that it is there, or not even that. */
function refusal(object, kind, own) {
	if (["paper", "stock", null].includes(object))
		return 403;
	if (own)
		return 403;
	if (object === "key")
		return 404;
	return kind === "student" ? 404 : 403;
}

async function tryRow(w, row) {
	const [method, path, object, ...four] = row;
	for (const [n, kind] of kinds.entries()) {
		const caller = w.callers[kind], right = four[n], name = `${method} ${path} as ${kind}`;
		for (const own of object === null ? [true] : [true, false]) {
			const id = object === null ? 0 : await objectOf(w, object, kind, own);
			const answer = await knock(w, caller, method, path, id);
			const studioWide = ["paper", "stock", "invitation", "entry", "invoice"].includes(object);
			if (right === "all" || (right === "own" && (own || studioWide)))
				expect(reaches(answer), `${name} reaches ${own ? "their own" : "another's"}`, answer);
			else if (right === "")
				expect(answer.status === 403, `${name} is refused by the role`, answer);
			else
				expect(answer.status === refusal(object, kind, own), `${name} does not reach another's`, answer);
		}
	}
}

async function tryForeign(w, v, row) {
	const [method, path, object, ...four] = row;
	if (object === null)
		return;
	for (const [n, kind] of kinds.entries()) {
		const name = `${method} ${path} as ${kind}`;
		const id = await objectOf(v, object, kind, true);
		const foreign = await knock(w, w.callers[kind], method, path, id);
		const none = await knock(w, w.callers[kind], method, path, unknown);
		expect(foreign.status === (four[n] === "" ? 403 : 404), `${name}: another studio's is not there`, foreign);
		expect(told(foreign) === told(none), `${name}: another studio's and an unknown id are told alike`,
			[told(foreign), told(none)]);
	}
	const same = await knock(w, w.callers.student, method, path, await objectOf(w, object, "other", true));
	if (four[0] === "own" && object !== "workshop" && object !== "plan")
		expect(told(same) === told(await knock(w, w.callers.student, method, path, unknown)),
			`${method} ${path}: a fellow student's and an unknown id are told alike`, same);
}

async function tryNobody(w, row, revoked) {
	const [method, path] = row;
	for (const [who, caller] of [["no key", w.owner.server.caller(null)], ["a revoked key", revoked],
			["a wrong key", w.owner.server.caller("tsk_" + "A".repeat(43))]]) {
		const answer = await knock(w, caller, method, path, 1);
		expect(answer.status === 401 && answer.headers["www-authenticate"] === "Bearer",
			`${method} ${path} with ${who} is 401`, answer);
	}
}

async function tryEvery(w, v) {
	const key = await w.owner.made(`/v1/members/${w.ids.owner}/keys`, { name: "old" });
	await w.owner.delete(`/v1/keys/${key.id}`);
	const revoked = w.owner.server.caller(key.key);
	for (const row of rights) {
		await tryNobody(w, row, revoked);
		await tryRow(w, row);
		await tryForeign(w, v, row);
	}
}

function tryTable() {
	const known = new Set(rights.map(([method, path]) => `${method} ${path}`));
	const there = new Set();
	for (const { method, path } of routes()) {
		if (!path.startsWith("/v1") && !path.startsWith("/problems"))
			continue;
		there.add(`${method} ${path}`);
		expect(known.has(`${method} ${path}`) || open.has(`${method} ${path}`),
			`${method} ${path} has its row in this test`);
	}
	for (const name of [...known, ...open])
		expect(there.has(name), `${name} has its route`);
}

/* What each role is shown of a thing: the whole list of members, so that a new one is noticed. */
async function tryFields(w) {
	const keys = (json) => Object.keys(json).sort().join(" ");
	const member = "active created_at guardian id name roles version";
	const asStudent = w.callers.student, asInstructor = w.callers.instructor;
	const of = async (caller, path) => (await caller.get(path)).json;
	expect(keys(await of(asStudent, `/v1/members/${w.ids.student}`)) === "active contact created_at guardian id name payer_id roles version",
		"a member sees their own contact");
	expect(keys(await of(asInstructor, `/v1/members/${w.ids.student}`)) === member, "an instructor sees no contact");
	expect(keys(await of(w.callers.treasurer, `/v1/members/${w.ids.student}`)) === member.replace("roles", "payer_id roles"),
		"a treasurer sees no contact, but who pays");
	const stock = "active available from_plan_id id kind length lot name paper_id place shelf_code spoiled version width";
	expect(keys(await of(asStudent, `/v1/stock/${w.stock}`)) === stock, "a student sees no price of stock");
	expect(keys(await of(asInstructor, `/v1/stock/${w.stock}`)) === "active available currency from_plan_id id kind length lot name paper_id place price_minor shelf_code spoiled version width",
		"an instructor sees the price of stock");
	const shares = await of(asStudent, `/v1/workshops/${w.planned}/shares`);
	expect(shares.items.length === 1 && shares.items[0].member_id === w.ids.student, "a student sees their own share only", shares);
	const list = await of(asStudent, `/v1/workshops/${w.workshop}/requests`);
	expect(list.items.length > 0 && list.items.every((r) => r.member_id === w.ids.student), "a student sees their own requests only", list);
	const spoken = await of(asStudent, `/v1/workshops/${w.workshop}/spoken`);
	expect(keys(spoken.items[0]) === "area_uu members paper paper_id roll_tenths sheets widest", "of others a class sees sums", spoken);
	const layout = await of(asStudent, `/v1/plans/${w.plan}/layout`);
	expect(layout.requests.filter((id) => id !== null).length === 1 && layout.problem.stock.every((s) => s.price === undefined)
		&& layout.problem.pieces.filter((p) => p.name !== "").length === 1, "of others' pieces a student sees the size", layout);
	expect(layout.problem.pieces.every((p) => p.owner === undefined) && layout.plan.alone === undefined,
		"and neither whose they are nor what anybody's sheets alone would cost", layout);
	const whole = await of(asInstructor, `/v1/plans/${w.plan}/layout`);
	expect(whole.plan.alone.length === 5, "which the plan knows", whole.plan.alone);
	const plans = await of(asStudent, `/v1/workshops/${w.planned}/plans`);
	expect(plans.items.length === 1 && plans.items[0].id === w.plan, "a student sees the accepted plan only", plans);
	const workshops = await of(w.callers.outsider, "/v1/workshops");
	expect(workshops.items.length === 0, "a student sees only workshops they take part in", workshops);
	const payments = await of(w.callers.other, `/v1/workshops/${w.workshop}/payments`);
	expect(payments.items.length === 0, "a student sees their own payments only", payments);
}

/* Rights finer than a route: what may be given, to whom. */
async function tryFine(w) {
	const { student, instructor } = w.callers;
	let answer = await instructor.post("/v1/members", { name: "x", roles: ["instructor"] });
	expect(answer.status === 403, "an instructor adds students only", answer);
	answer = await instructor.post(`/v1/members/${w.ids.treasurer}/keys`, { name: "x" });
	expect(answer.status === 403, "an instructor makes keys for students only", answer);
	answer = await student.patch(`/v1/members/${w.ids.student}`, { roles: ["owner"] }, 1);
	expect(answer.status === 403, "nobody gives themselves a role", answer);
	answer = await student.patch(`/v1/members/${w.ids.student}`, { active: false }, 1);
	expect(answer.status === 403, "a member is not made inactive by themselves", answer);
	answer = await student.post(`/v1/workshops/${w.workshop}/requests`,
		{ paper_id: w.paper, count: 1, across: "9 in", along: "12 in", member_id: w.ids.other });
	expect(answer.status === 403, "a student asks for themselves only", answer);
	answer = await student.post(`/v1/workshops/${w.planned}/requests`,
		{ paper_id: w.paper, count: 1, across: "9 in", along: "12 in" });
	expect(answer.status === 409, "no request after the closing", answer);
	const fresh = await w.owner.made("/v1/members", { name: "Both", roles: ["treasurer", "student"] });
	const key = await w.owner.made(`/v1/members/${fresh.id}/keys`, { name: "k" });
	const both = w.owner.server.caller(key.key);
	expect((await both.get("/v1/reconciliation")).status === 200, "a treasurer sees the reconciliation");
	await w.owner.patch(`/v1/members/${fresh.id}`, { roles: ["student"] }, 1);
	expect((await both.get("/v1/reconciliation")).status === 403, "a removed role ends at the next request");
	await w.owner.patch(`/v1/members/${fresh.id}`, { active: false }, 2);
	expect((await both.get("/v1/me")).status === 401, "an inactive member's key ends at the next request");
	answer = await w.owner.patch(`/v1/members/${w.ids.owner}`, { roles: ["student"] }, 1);
	expect(answer.status === 409, "the last owner stays", answer);
}

let server = null;
try {
	tryTable();
	server = await startServer();
	const w = await fill(server, server.ready.owner1);
	const v = await fill(server, server.ready.owner2);
	await tryEvery(w, v);
	await tryFields(w);
	await tryFine(w);
} finally {
	await finish(server);
}
