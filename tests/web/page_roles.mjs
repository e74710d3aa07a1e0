#!/usr/bin/env node
// SPDX-License-Identifier: MIT
/*
 * Every page, every kind of caller, every kind of object: the same table as roles.mjs, for the
 * pages.  The rights are those that docs/protocol.md gives to the call which does the same;
 * a page without its row here fails, and so does a row without a page.
 *
 * A form that writes is sent so that it stops at the first rule after the rights: a version that
 * is missing, a field that is empty, a workshop in the wrong state.
 */
import { startServer, finish, expect, routes, planned } from "./api.mjs";
import { Visitor } from "./browser.mjs";

const pages = [
	/* method, path, object, S, I, T, O */
	["GET", "/me", null, "all", "all", "all", "all"],
	["POST", "/me", null, "all", "all", "all", "all"],
	["POST", "/me/keys", null, "all", "all", "all", "all"],
	["POST", "/me/sessions", null, "all", "all", "all", "all"],
	["GET", "/keys/{id}/revoke", "key", "own", "own", "own", "all"],
	["POST", "/keys/{id}/revoke", "key", "own", "own", "own", "all"],
	["GET", "/workshops/{id}", "workshop", "own", "all", "all", "all"],
	["POST", "/workshops/{id}", "workshop", "own", "all", "", ""],
	["POST", "/workshops/{id}/look", "workshop", "own", "all", "", ""],
	["GET", "/requests/{id}", "request", "own", "all", "", ""],
	["POST", "/requests/{id}", "request", "own", "all", "", ""],
	["POST", "/requests/{id}/look", "request", "own", "all", "", ""],
	["POST", "/requests/{id}/estimate", "request", "own", "all", "", ""],
	["GET", "/requests/{id}/withdraw", "request", "own", "all", "", ""],
	["POST", "/requests/{id}/withdraw", "request", "own", "all", "", ""],
	["GET", "/workshops/{id}/share", "workshop", "own", "all", "all", "all"],
	["GET", "/workshops/new", null, "", "all", "", "all"],
	["POST", "/workshops", null, "", "all", "", "all"],
	["GET", "/workshops/{id}/edit", "workshop", "", "all", "", "all"],
	["POST", "/workshops/{id}/edit", "workshop", "", "all", "", "all"],
	["GET", "/workshops/{id}/close", "workshop", "", "all", "", "all"],
	["POST", "/workshops/{id}/close", "closed workshop", "", "all", "", "all"],
	["GET", "/workshops/{id}/reopen", "workshop", "", "all", "", "all"],
	["POST", "/workshops/{id}/reopen", "workshop", "", "all", "", "all"],
	["GET", "/workshops/{id}/torn", "workshop", "", "all", "", "all"],
	["POST", "/workshops/{id}/torn", "workshop", "", "all", "", "all"],
	["GET", "/workshops/{id}/requests", "workshop", "", "all", "all", "all"],
	["POST", "/workshops/{id}/members", "workshop", "", "all", "", "all"],
	["GET", "/workshops/{id}/invite", "workshop", "", "all", "", "all"],
	["POST", "/workshops/{id}/invite", "workshop", "", "all", "", "all"],
	["POST", "/invitations/{id}/revoke", "invitation", "", "all", "", "all"],
	["GET", "/workshops/{id}/plan", "workshop", "", "all", "all", "all"],
	["POST", "/workshops/{id}/plan", "workshop", "", "all", "", "all"],
	["GET", "/plans/{id}", "plan", "own", "all", "all", "all"],
	["POST", "/plans/{id}/accept", "accepted plan", "", "all", "", "all"],
	["POST", "/plans/{id}/cancel", "accepted plan", "", "all", "", "all"],
	["GET", "/plans/{id}/picture", "plan", "own", "all", "all", "all"],
	["GET", "/plans/{id}/sheet", "plan", "", "all", "all", "all"],
	["GET", "/plans/{id}/sheet/file", "plan", "", "all", "all", "all"],
	["GET", "/reminders", null, "", "", "all", "all"],
	["GET", "/reminders/file", null, "", "", "all", "all"],
	["GET", "/members/{id}/statement", "member", "own", "own", "all", "all"],
	["GET", "/members/{id}/statement/file", "member", "own", "own", "all", "all"],
	["GET", "/workshops/{id}/account", "workshop", "", "", "all", "all"],
	["GET", "/workshops/{id}/account/file", "workshop", "", "", "all", "all"],
	["GET", "/workshops/{id}/money", "workshop", "", "all", "all", "all"],
	["POST", "/workshops/{id}/invoice/look", "workshop", "", "", "all", "all"],
	["POST", "/workshops/{id}/invoice", "workshop", "", "", "all", "all"],
	["GET", "/workshops/{id}/invoices", "workshop", "", "", "all", "all"],
	["POST", "/workshops/{id}/invoices", "workshop", "", "", "all", "all"],
	["GET", "/invoices/{id}/withdraw", "invoice", "", "", "all", "all"],
	["POST", "/invoices/{id}/withdraw", "invoice", "", "", "all", "all"],
	["GET", "/workshops/{id}/bookings", "workshop", "", "", "all", "all"],
	["POST", "/workshops/{id}/bookings", "workshop", "", "", "all", "all"],
	["POST", "/workshops/{id}/payments/look", "workshop", "", "", "all", "all"],
	["POST", "/workshops/{id}/payments", "workshop", "", "", "all", "all"],
	["GET", "/payments/{id}/reverse", "entry", "", "", "all", "all"],
	["POST", "/payments/{id}/reverse", "entry", "", "", "all", "all"],
	["GET", "/papers", null, "", "all", "all", "all"],
	["POST", "/papers", null, "", "all", "", "all"],
	["GET", "/papers/{id}", "paper", "", "all", "all", "all"],
	["POST", "/papers/{id}", "paper", "", "all", "", "all"],
	["POST", "/papers/{id}/stock", "paper", "", "all", "all", "all"],
	["GET", "/stock/{id}", "stock", "", "all", "all", "all"],
	["POST", "/stock/{id}", "stock", "", "all", "all", "all"],
	["GET", "/members", null, "", "all", "all", "all"],
	["POST", "/members", null, "", "all", "", "all"],
	["GET", "/members/{id}", "member", "", "all", "all", "all"],
	["POST", "/members/{id}", "member", "", "", "", "all"],
	["POST", "/members/{id}/keys", "member", "", "all", "", "all"],
	["GET", "/studio", null, "", "", "", "all"],
	["POST", "/studio", null, "", "", "", "all"],
];
/* For everybody, or tried by itself; signing out is in page_session.mjs. */
const open = new Set(["GET /", "GET /help", "GET /static/{text}", "GET /signin", "POST /signin", "POST /signout",
	"GET /join", "POST /join", "GET /join/{text}", "POST /join/{text}", "GET /shelf/{text}"]);
const kinds = ["student", "instructor", "treasurer", "owner"];
const unknown = 999999999;

async function people(server, w, owner) {
	for (const [name, roles] of [["student", ["student"]], ["other", ["student"]],
			["instructor", ["instructor"]], ["treasurer", ["treasurer"]]]) {
		const member = await owner.made("/v1/members", { name, roles });
		const key = (await owner.made(`/v1/members/${member.id}/keys`, { name: "test" })).key;
		w.ids[name] = member.id;
		w.visitors[name] = new Visitor(server);
		await w.visitors[name].signIn(key);
		w.callers[name] = server.caller(key);
	}
}

async function workshopWith(w, name) {
	const i = w.callers.instructor;
	const workshop = (await i.made("/v1/workshops", { name, closes_at: "2099-01-01T00:00:00Z",
		starts_on: "2099-01-05", papers: [w.paper] })).id;
	for (const member of ["student", "other", "instructor", "treasurer", "owner"]) {
		await i.made(`/v1/workshops/${workshop}/members`, { member_id: w.ids[member] });
		w.requests[member] = (await i.made(`/v1/workshops/${workshop}/requests`,
			{ paper_id: w.paper, count: 3, across: "9 in", along: "12 in", member_id: w.ids[member] })).id;
	}
	return workshop;
}

/* A studio with one of everything: an open and a planned workshop, a plan accepted and one not. */
async function fill(server, ownerKey) {
	const owner = server.caller(ownerKey);
	const w = { server, owner, ids: {}, visitors: {}, callers: { owner }, requests: {} };
	w.ids.owner = (await owner.get("/v1/me")).json.member.id;
	w.visitors.owner = new Visitor(server);
	await w.visitors.owner.signIn(ownerKey);
	await people(server, w, owner);
	const i = w.callers.instructor;
	w.paper = (await i.made("/v1/papers", { name: "Cold press 300", weight_gsm: 300, finish: "cold press" })).id;
	w.stock = (await i.made("/v1/stock", { paper_id: w.paper, kind: "fresh", name: "45 in roll",
		width: "45 in", length: "10 yd", price_minor: 19200 })).id;
	w.foreign = (await i.made("/v1/workshops", { name: "Nobody's", closes_at: "2099-01-01T00:00:00Z",
		starts_on: "2099-01-05", papers: [w.paper] })).id;
	w.planned = await workshopWith(w, "Planned");
	w.workshop = await workshopWith(w, "Open");
	await i.made(`/v1/workshops/${w.planned}/close`, {});
	w.plan = (await planned(i, (await i.made(`/v1/workshops/${w.planned}/plans`, {})).id)).id;
	await i.made(`/v1/plans/${w.plan}/accept`, {});
	w.unaccepted = (await planned(i, (await i.made(`/v1/workshops/${w.planned}/plans`, {})).id)).id;
	w.entry = (await owner.made(`/v1/workshops/${w.planned}/payments`,
		{ member_id: w.ids.student, amount_minor: 500 })).id;
	w.invoice = (await owner.made(`/v1/workshops/${w.planned}/invoices`,
		{ total_minor: 500, lines: [{ kind: "shipping", amount_minor: 500 }] })).id;
	return w;
}

async function objectOf(w, object, kind, own) {
	switch (object) {
	case "member": return own ? w.ids[kind] : w.ids.other;
	case "key": return (await w.owner.made(`/v1/members/${own ? w.ids[kind] : w.ids.other}/keys`, { name: "one" })).id;
	case "paper": return w.paper;
	case "stock": return w.stock;
	case "workshop": return own ? w.workshop : w.foreign;
	case "closed workshop": return w.planned;
	case "invitation": return (await w.owner.made(`/v1/workshops/${w.workshop}/invitations`, {})).id;
	case "request": return own ? w.requests[kind] : w.requests.other;
	case "plan": return own ? w.plan : w.unaccepted;
	case "accepted plan": return w.plan;
	case "entry": return w.entry;
	case "invoice": return w.invoice;
	}
	throw new Error(object);
}

function knock(visitor, method, path, id) {
	const query = path.endsWith("/file") ? "?form=text" : "";
	return method === "GET" ? visitor.get(path.replace("{id}", id) + query) : visitor.post(path.replace("{id}", id));
}

/* What is told, without what is different in each page. */
function told(answer) {
	const { "request-id": a, date: b, "content-length": c, ...headers } = answer.headers;
	return JSON.stringify([answer.status, headers, answer.text.replace(/name="once" value="[^"]*"/g, "")]);
}

const reaches = (answer) => ![400, 401, 403, 404].includes(answer.status) && answer.status < 500;

function refusal(object, kind, own) {
	if (["paper", "stock", "closed workshop", "accepted plan", null].includes(object) || own)
		return 403;
	if (object === "key")
		return 404;
	return kind === "student" ? 404 : 403;
}

async function tryPage(w, [method, path, object, ...four]) {
	for (const [n, kind] of kinds.entries()) {
		const right = four[n], name = `${method} ${path} as ${kind}`;
		for (const own of object === null ? [true] : [true, false]) {
			const id = object === null ? 0 : await objectOf(w, object, kind, own);
			const answer = await knock(w.visitors[kind], method, path, id);
			if (right === "all" || (right === "own" && own))
				expect(reaches(answer), `${name} reaches ${own ? "their own" : "another's"}`, answer);
			else if (right === "")
				expect(answer.status === 403, `${name} is refused by the role`, answer);
			else
				expect(answer.status === refusal(object, kind, own), `${name} does not reach another's`, answer);
		}
	}
}

async function tryForeign(w, v, [method, path, object, ...four]) {
	if (object === null)
		return;
	for (const [n, kind] of kinds.entries()) {
		const name = `${method} ${path} as ${kind}`, visitor = w.visitors[kind];
		const foreign = await knock(visitor, method, path, await objectOf(v, object, kind, true));
		const none = await knock(visitor, method, path, unknown);
		expect(foreign.status === (four[n] === "" ? 403 : 404), `${name}: another studio's is not there`, foreign);
		expect(told(foreign) === told(none), `${name}: another studio's and an unknown id are told alike`,
			[told(foreign), told(none)]);
	}
}

/* Nobody is asked to sign in, and told nothing of what is there. */
async function tryNobody(server, [method, path]) {
	const dead = new Visitor(server);
	dead.cookie = "A".repeat(43);
	for (const [who, visitor] of [["nobody", new Visitor(server)], ["a dead session", dead]]) {
		const answer = await knock(visitor, method, path, 1);
		expect(answer.status === 401 && /<h1>Sign in<\/h1>/.test(answer.text), `${method} ${path} by ${who}: sign in`, answer);
		expect(answer.headers["cache-control"] === "no-store", `${method} ${path} by ${who} is not kept`, answer.headers);
	}
}

function tryTable() {
	const known = new Set(pages.map(([method, path]) => `${method} ${path}`)), there = new Set();
	for (const { method, path } of routes())
		if (!path.startsWith("/v1") && !path.startsWith("/problems"))
			there.add(`${method} ${path}`);
	for (const name of there)
		expect(known.has(name) || open.has(name), `${name} has its row in this test`);
	for (const name of [...known, ...open])
		expect(there.has(name), `${name} has its page`);
}

/* What stands on a roll-end leads to its row. */
async function tryShelf(w) {
	const end = await w.owner.made(`/v1/workshops/${w.planned}/torn`, {});
	const row = (await w.owner.get("/v1/stock?limit=100")).json.items.find((t) => t.from_plan_id === end.accepted_plan_id);
	expect(/^1-[A-Z]+-R1$/.test(row.shelf_code), "what goes back has its code", row);
	for (const kind of ["instructor", "treasurer", "owner"]) {
		const found = await w.visitors[kind].get(`/shelf/${row.shelf_code}`);
		expect(found.status === 303 && found.headers.location === `/stock/${row.id}`, `${kind}: a code leads to its row`, found);
	}
	expect((await w.visitors.student.get(`/shelf/${row.shelf_code}`)).status === 403, "not for students");
	for (const code of ["1-AAAA-R9", "x", "%27--"])
		expect((await w.visitors.owner.get(`/shelf/${code}`)).status === 404, `no row for ${code}`);
	expect((await new Visitor(w.server).get(`/shelf/${row.shelf_code}`)).status === 401, "nor for nobody");
}

/* A student sees of others only what a class must know. */
async function tryFields(w) {
	const page = async (path) => (await w.visitors.student.get(path)).text;
	const sheets = await page(`/workshops/${w.workshop}`);
	expect(!sheets.includes("<bdi>other</bdi>"), "no request of a fellow student on one's page");
	expect((sheets.match(/3 sheets of/g) ?? []).length === 1, "one's own request once");
	const share = await page(`/workshops/${w.planned}/share`);
	expect(!share.includes("other"), "no share of a fellow student on one's page");
	const picture = await page(`/plans/${w.plan}/picture`);
	expect(picture.includes("another member&#39;s") && !picture.includes("Whose code is whose"),
		"the pieces of others are without their codes");
	const asInstructor = (await w.visitors.instructor.get(`/members/${w.ids.student}`)).text;
	expect(!asInstructor.includes("Contact"), "an instructor sees no contact");
	const paper = await w.visitors.student.get(`/papers/${w.paper}`);
	expect(paper.status === 403, "a student sees no prices");
}

let server = null;
try {
	tryTable();
	server = await startServer();
	const w = await fill(server, server.ready.owner1);
	const v = await fill(server, server.ready.owner2);
	for (const row of pages) {
		await tryNobody(server, row);
		await tryPage(w, row);
		await tryForeign(w, v, row);
	}
	await tryFields(w);
	await tryShelf(w);
} finally {
	await finish(server);
}
