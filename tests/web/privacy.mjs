#!/usr/bin/env node
// SPDX-License-Identifier: MIT
/*
 * What is kept of a person: told whole to them and to the studio's owner, to nobody else, and
 * with nothing of anybody else's; and erased, so that a dump of the database holds neither name
 * nor contact.
 *
 * Which tables name a member is asked of the database's catalogue, so a table that is added
 * later is missed here until the export has it.  Words of a second member are marked; none of
 * the marks may be in the first one's export.
 */
import { startServer, finish, expect, planned } from "./api.mjs";
import { Visitor } from "./browser.mjs";

let server = null, owner = null;
const ask = { count: 2, across: "9 in", along: "12 in" };

/* ---- everything that a member can leave behind ---- */

/* Vera does whatever any role may do; Zoe, marked, is in every one of the same places. */
async function fill() {
	owner = server.caller(server.ready.owner1);
	const s = { me: (await owner.get("/v1/me")).json.member.id };
	const add = async (name, mark, roles = ["student", "instructor", "treasurer", "owner"]) => {
		const member = await owner.made("/v1/members", { name, contact: `${mark}@example.org`, roles });
		const key = await owner.made(`/v1/members/${member.id}/keys`, { name: `${mark} phone` });
		return { id: member.id, name, mark, caller: server.caller(key.key), key: key.key };
	};
	s.vera = await add("Vera Quill", "verapost");
	s.zoe = await add("Zoe Canaryname", "canarypost");
	s.kid = await add("Kid Quill", "kidpost", ["student"]);
	s.paper = (await owner.made("/v1/papers", { name: "Cold press", weight_gsm: 300, finish: "cold press" })).id;
	await owner.made("/v1/stock", { paper_id: s.paper, kind: "fresh", name: "45 in roll", width: "45 in", length: "10 yd", price_minor: 19200 });
	await owner.patch(`/v1/members/${s.kid.id}`, { payer_id: s.vera.id }, 1);
	for (const person of [s.vera, s.zoe]) {
		const page = new Visitor(server, { "User-Agent": `${person.mark} browser` });
		await page.signIn(person.key);
	}
	s.done = await workshop(s, s.vera, "Done");
	s.next = await workshop(s, s.zoe, "Next");
	return s;
}

/* One workshop from its first request to its last payment, each step made by the same member. */
async function workshop(s, by, name) {
	const c = by.caller;
	await c.made("/v1/stock", { paper_id: s.paper, kind: "offcut", name: `offcut of ${by.mark}`, width: "10 in", length: "20 in", price_minor: 5 });
	const id = (await c.made("/v1/workshops", { name, closes_at: "2099-01-01T00:00:00Z", starts_on: "2099-01-05", papers: [s.paper] })).id;
	for (const person of [s.vera, s.zoe, s.kid]) {
		await c.made(`/v1/workshops/${id}/members`, { member_id: person.id });
		await person.caller.made(`/v1/workshops/${id}/requests`, { ...ask, paper_id: s.paper, note: `note of ${person.mark}` });
	}
	await c.made(`/v1/workshops/${id}/close`, {});
	const plan = await planned(c, (await c.made(`/v1/workshops/${id}/plans`, {})).id);
	await c.made(`/v1/plans/${plan.id}/accept`, {});
	await c.made(`/v1/workshops/${id}/torn`, {});
	await c.made(`/v1/workshops/${id}/invoices`, { number: `R ${by.mark}`, supplier: "Mill", total_minor: 20000, advanced_by: by.id,
		lines: [{ kind: "rolls", paper_id: s.paper, amount_minor: 20000 }] });
	await c.made(`/v1/workshops/${id}/settlements`, { invoices: [] });
	for (const person of [s.vera, s.zoe, s.kid])
		await payOff(c, id, person, by);
	return id;
}

const owed = async (c, workshop, person) => (await c.get(`/v1/workshops/${workshop}/shares`)).json.items
	.find((item) => item.member_id === person.id).balance_minor;

/* To whoever advanced the invoice, so that nothing stays open on their side either. */
async function payOff(c, workshop, person, payee) {
	await c.made(`/v1/workshops/${workshop}/payments`, { member_id: person.id, amount_minor: await owed(c, workshop, person),
		payee_id: payee.id, reason: `cash of ${person.mark}`, ...(person.mark === "kidpost" ? { payer_id: payee.id } : {}) });
}

/* ---- the catalogue ---- */

/* Columns that lead, over any number of foreign keys, to member.member_id. */
const leading = `WITH RECURSIVE leads (rel, att) AS (
	SELECT 'tearshare.member'::regclass::oid, attnum FROM pg_attribute
		WHERE attrelid = 'tearshare.member'::regclass AND attname = 'member_id'
	UNION SELECT c.conrelid, c.conkey[i] FROM pg_constraint c, generate_subscripts(c.conkey, 1) i, leads l
		WHERE c.contype = 'f' AND c.confrelid = l.rel AND c.confkey[i] = l.att)
	SELECT string_agg(c.relname || ' ' || a.attname || ' ' || (SELECT k.attname FROM pg_constraint p
			JOIN pg_attribute k ON k.attrelid = p.conrelid AND k.attnum = p.conkey[2]
			WHERE p.conrelid = l.rel AND p.contype = 'p'), ',' ORDER BY c.relname, a.attname)
	FROM leads l JOIN pg_class c ON c.oid = l.rel JOIN pg_attribute a ON a.attrelid = l.rel AND a.attnum = l.att`;

function namingColumns() {
	return server.sql(leading).split(",").map((line) => {
		const [table, column, key] = line.split(" ");
		return { table, column, key };
	});
}

/* Every row of every table that names the member is there, and every such column has one. */
function allIsTold(member, rows) {
	const columns = namingColumns();
	expect(columns.length >= 15, "the catalogue knows the columns that name a member", columns.map((c) => `${c.table}.${c.column}`));
	for (const { table, column, key } of columns) {
		const there = server.sql(`SELECT string_agg(${key}::text, ' ' ORDER BY ${key}) FROM tearshare.${table} WHERE ${column} = ${member}`)
			.split(" ").filter((id) => id !== "");
		const told = new Set(rows.filter((r) => r.table === table).map((r) => String(r.id)));
		expect(there.length > 0, `${table}.${column} names the member, or the test says nothing of it`);
		expect(there.every((id) => told.has(id)), `the export has each row with ${table}.${column}`, [there, [...told]]);
	}
}

/* ---- the export ---- */

async function tryExport(s) {
	const answer = await s.vera.caller.get(`/v1/members/${s.vera.id}/export`);
	expect(answer.status === 200 && answer.headers["content-disposition"] === `attachment; filename="member-${s.vera.id}.json"`
		&& answer.headers["cache-control"] === "no-store", "a member gets what is kept of them", answer);
	const { rows } = answer.json;
	allIsTold(s.vera.id, rows);
	const of = (table, as) => rows.filter((r) => r.table === table && r.as === as).map((r) => r.data);
	expect(of("member", "own")[0].contact === "verapost@example.org" && of("member", "payer")[0].id === s.kid.id
		&& Object.keys(of("member", "payer")[0]).length === 1, "themselves whole, of whom they pay for the number");
	expect(of("request", "own").length === 2 && of("request", "own").every((r) => r.note === "note of verapost" && r.across === "9 in"), "their requests", of("request", "own"));
	expect(of("key", "own")[0].name === "verapost phone" && of("session", "own")[0].agent === "verapost browser", "keys and sign-ins");
	expect(of("ledger_entry", "own").some((e) => e.reason === "cash of verapost" && e.kind === "payment"), "what they paid", of("ledger_entry", "own"));
	expect(of("booking", "by").every((b) => Object.keys(b).join() === "id,kind,workshop_id,key_id,created_at"), "of what they booked for others only that they did");
	for (const mark of ["Canary", "canarypost", "Kid", "kidpost", "Zoe"])
		expect(!answer.text.includes(mark), `nothing of anybody else: ${mark}`, rows.filter((r) => JSON.stringify(r).includes(mark)));
	for (const secret of [s.vera.key, s.zoe.key, ...server.sql("SELECT encode(hash, 'hex') FROM tearshare.key").split("\n")])
		expect(!answer.text.includes(secret), "no secret, and no hash of one");
	expect(answer.text.includes("T") && rows.every((r) => Object.entries(r.data).every(([k, v]) => !/(_at|^at)$/.test(k) || v === null || /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ$/.test(v))),
		"instants are RFC 3339 in UTC");
	await tryCsv(s, rows);
}

/* RFC 4180, read a character at a time. */
function readCsv(text) {
	const rows = [[""]];
	let quoted = false;
	for (let i = 0; i < text.length; i++) {
		const row = rows[rows.length - 1], c = text[i];
		if (quoted && c === '"' && text[i + 1] === '"')
			row[row.length - 1] += text[++i];
		else if (c === '"')
			quoted = !quoted;
		else if (!quoted && c === ",")
			row.push("");
		else if (!quoted && c === "\r" && text[i + 1] === "\n" && ++i)
			rows.push([""]);
		else
			row[row.length - 1] += c;
	}
	rows.pop();
	return rows;
}

async function tryCsv(s, rows) {
	const csv = await s.vera.caller.get(`/v1/members/${s.vera.id}/export?form=csv`);
	expect(csv.status === 200 && csv.headers["content-type"].startsWith("text/csv"), "the same as CSV", csv.headers);
	const [head, ...lines] = readCsv(csv.text);
	const plain = (value) => value === null ? "" : typeof value === "object" ? JSON.stringify(value) : String(value);
	const wanted = rows.flatMap((r) => Object.entries(r.data).map(([k, v]) => [r.table, String(r.id), r.as, k, plain(v)]));
	/* a request to see it begins a session's or key's last use anew: only that may differ */
	const still = (list) => JSON.stringify(list.filter((l) => !/last_(used|seen)_at/.test(l[3])));
	expect(head.join() === "table,id,as,field,value" && still(lines) === still(wanted), "field for field", [lines.length, wanted.length]);
	expect((await s.vera.caller.get(`/v1/members/${s.vera.id}/export?form=xml`)).status === 422, "in no other form");
}

/* ---- erasing ---- */

const version = async (id) => (await owner.get(`/v1/members/${id}`)).json.version;
const erase = async (caller, id, headers = {}) => caller.send("DELETE", `/v1/members/${id}`, { headers: { "If-Match": "*", ...headers } });

/* What stands in the way is named, with what to do; once it is out of the way, it goes. */
async function tryHeld(s) {
	const una = await owner.made("/v1/members", { name: "Una Fern", contact: "una@example.org" });
	const id = (await owner.made("/v1/workshops", { name: "Open", closes_at: "2099-01-01T00:00:00Z", starts_on: "2099-01-05", papers: [s.paper] })).id;
	s.open = id;
	await owner.made(`/v1/workshops/${id}/members`, { member_id: una.id });
	const held = async (what, hint) => {
		const answer = await erase(owner, una.id);
		expect(answer.status === 409 && answer.json.detail.includes(what) && answer.json.hint.includes(hint), `refused: ${what}`, answer);
	};
	const request = (await s.zoe.caller.made(`/v1/workshops/${id}/requests`, { ...ask, paper_id: s.paper, member_id: una.id, note: "see Una Fern" })).id;
	await held(`request ${request} stands in workshop ${id}, which is open`, "Withdraw it first.");
	await s.zoe.caller.delete(`/v1/requests/${request}`, 1);
	await owner.made(`/v1/workshops/${id}/payments`, { member_id: una.id, amount_minor: 700, payee_id: s.zoe.id });
	await held(`still owed or credited in workshop ${id}`, "refund it");
	const zoe = await erase(owner, s.zoe.id);
	expect(zoe.status === 409 && zoe.json.detail.includes("advanced, or hold for the studio"), "who holds the studio's money is needed", zoe);
	await owner.made(`/v1/workshops/${id}/bookings`, { kind: "refund", member_id: una.id, amount_minor: 700, reason: "not needed", payee_id: s.zoe.id });
	const pays = await erase(owner, s.vera.id);
	expect(pays.status === 409 && pays.json.detail.includes(`they pay for member ${s.kid.id}`), "and who pays for another", pays);
	await owner.patch(`/v1/members/${s.kid.id}`, { payer_id: null }, await version(s.kid.id));
	const done = await erase(owner, una.id);
	expect(done.status === 200 && done.json.erased.notes === 1, "with nothing in the way it is done", done);
	const last = server.caller(server.ready.owner2), self = (await last.get("/v1/me")).json.member.id;
	const stays = await erase(last, self);
	expect(stays.status === 409 && stays.json.detail.includes("last active owner"), "the last owner stays", stays);
}

/* Every text, number and byte of every table, as a dump has them; bytes are hexadecimal there. */
function holds(dump, word) {
	const hex = [word, JSON.stringify(word).slice(1, -1)].map((w) => Buffer.from(w).toString("hex"));
	return dump.split("\n").filter((line) => line.toLowerCase().includes(word.toLowerCase()) || hex.some((h) => line.includes(h)));
}

async function tryErase(s) {
	const { vera } = s, path = `/v1/members/${vera.id}`;
	await owner.made(`/v1/workshops/${s.done}/payments`, { member_id: s.zoe.id, amount_minor: 100, reason: "brought by Vera Quill" });
	await owner.made(`/v1/workshops/${s.done}/bookings`, { kind: "refund", member_id: s.zoe.id, amount_minor: 100, reason: "back" });
	const once = "add-nobody-twice", adding = { name: 'Gus "G" Erased', contact: "gus@example.org" };
	const gus = await owner.made("/v1/members", adding, { once });
	const none = await owner.send("DELETE", path), stale = await erase(owner, vera.id, { "If-Match": '"77"' });
	expect(none.status === 428 && stale.status === 412, "erasing names the version it means", [none.status, stale.status]);
	const before = server.dump();
	expect(holds(before, vera.name).length > 1 && holds(before, "verapost@example.org").length > 0 && holds(before, adding.name).length > 1,
		"before it, a dump holds names and contacts");
	const first = await erase(owner, vera.id, { "Idempotency-Key": '"vera-1"' });
	const again = await erase(owner, vera.id, { "Idempotency-Key": '"vera-1"' });
	expect(first.status === 200 && first.text === again.text, "erased, and told the same to who asks again", [first, again]);
	const { member, erased, kept, mentions } = first.json;
	expect(member.name === `former member ${vera.id}` && member.contact === "" && !member.active && member.roles.join() === "student", "a number is left", member);
	expect(erased.keys === 1 && erased.sessions === 1 && erased.notes === 2 && erased.answers > 0, "keys, sign-ins, notes and answers went", erased);
	expect(JSON.stringify(mentions) === '[{"table":"booking","count":1}]', "where others wrote the name is told", mentions);
	const tables = kept.map((k) => k.table);
	for (const table of ["ledger_entry", "booking", "share", "settlement", "invoice", "request", "plan"])
		expect(tables.includes(table), `${table} is kept under the number`, tables);
	expect(kept.every((k) => k.why.length > 20 && k.count > 0) && kept.find((k) => k.table === "ledger_entry").why.includes("bookkeeping law"), "and why", kept);
	const later = await erase(owner, vera.id);
	expect(later.status === 200 && later.json.erased.keys === 0 && later.json.mentions.length === 0
		&& JSON.stringify(later.json.kept.filter((k) => k.table !== "event")) === JSON.stringify(kept.filter((k) => k.table !== "event")), "erasing again changes nothing", later.json);
	expect((await erase(owner, gus.id)).status === 200, "one who was added a moment ago");
	const twice = await owner.post("/v1/members", adding, { once });
	expect(twice.status === 409 && twice.json.detail.includes("erased since") && !twice.text.includes("Gus"), "is not added again by the same request", twice);
	await tryMyself();
	tryDump(s, [adding.name, adding.contact, "Ivo Goes"]);
	await tryGone(s);
}

function tryDump(s, names) {
	const after = server.dump();
	for (const word of [...names, "verapost@example.org", "verapost phone", "verapost browser", "note of verapost"])
		expect(holds(after, word).length === 0, `a dump does not hold "${word}"`, holds(after, word));
	const left = holds(after, s.vera.name);
	expect(left.length === 1 && left[0].includes("brought by Vera Quill"), "nor the name, but where it was told that somebody wrote it", left);
}

async function tryGone(s) {
	const { vera } = s;
	expect((await vera.caller.get("/v1/me")).status === 401, "the key opens nothing");
	const changed = await owner.patch(`/v1/members/${vera.id}`, { name: "Vera Quill" }, await version(vera.id));
	expect(changed.status === 409 && changed.json.detail === `member ${vera.id} was erased`, "nobody gives the number a name again", changed);
	expect((await owner.post(`/v1/members/${vera.id}/keys`, { name: "k" })).status === 409, "or a key");
	expect((await owner.get("/v1/reconciliation")).json.items.length === 0, "the books agree");
	const statement = await owner.get(`/v1/members/${vera.id}/statement?workshop=${s.done}&form=text`);
	expect(statement.status === 200 && statement.text.includes(`former member ${vera.id}`), "and the statement is of a number", statement.text.slice(0, 200));
	const sheet = await owner.get(`/v1/workshops/${s.done}/shares`);
	expect(sheet.json.sum_minor === 20000 && sheet.json.items.some((i) => i.member_id === vera.id), "plans and shares keep it", sheet.json);
}

/* Everybody may go by themselves. */
async function tryMyself() {
	const me = await owner.made("/v1/members", { name: "Ivo Goes" });
	const key = await owner.made(`/v1/members/${me.id}/keys`, { name: "k" });
	const caller = server.caller(key.key);
	const answer = await erase(caller, me.id);
	expect(answer.status === 200 && answer.json.member.name === `former member ${me.id}`, "a member erases themselves", answer);
	expect((await caller.get("/v1/me")).status === 401, "and is gone");
}

/* ---- how long things are kept ---- */

/* What a sweep by that clock takes away, undone again. */
function swept(clock) {
	return server.sql(`BEGIN; SELECT answers, sessions, invitations, members FROM tearshare.sweep(${clock}); ROLLBACK`)
		.split("|").map(Number);
}

/* The clock is moved and the rows stay where they are: each goes a moment after its time and not a moment before. */
async function tryRetention(s) {
	const count = (table) => Number(server.sql(`SELECT count(*) FROM tearshare.${table}`));
	expect(swept("now()").join() === "0,0,0,0", "nothing goes before its time", swept("now()"));
	const page = new Visitor(server);
	await page.signIn(s.zoe.key);
	await page.post("/signout");
	const invitation = await owner.made(`/v1/workshops/${s.open}/invitations`, {});
	const edges = [
		["answers", 0, "SELECT min(created_at) FROM tearshare.kept_answer", "7 days", 1],
		["sessions", 1, "SELECT ended_at FROM tearshare.session WHERE ended_at IS NOT NULL", "30 days", 1],
		["invitations", 2, `SELECT expires_at FROM tearshare.invitation WHERE invitation_id = ${invitation.id}`, "30 days", 1],
	];
	for (const [what, at, since, days, n] of edges) {
		const edge = `(${since}) + interval '${days}'`;
		expect(swept(edge)[at] === 0, `${what} are there for ${days}`, swept(edge));
		expect(swept(`${edge} + interval '1 microsecond'`)[at] === n, `${what} are gone after ${days}`, swept(`${edge} + interval '1 microsecond'`));
	}
	/* Zoe's other session is a treasurer's: it runs out after 24 hours, and goes 30 days later. */
	const idle = "(SELECT max(last_seen_at) FROM tearshare.session WHERE ended_at IS NULL) + interval '31 days'";
	expect(swept(idle)[1] === 1 && swept(`${idle} + interval '1 microsecond'`)[1] === 2, "a session that nobody ended has ended when it ran out", swept(idle));
	expect(count("session") === 2, "nothing was swept by looking");
	await tryForget(s);
}

/* The studio's choice: a student goes so long after the last workshop was settled. */
async function tryForget(s) {
	const later = (days) => `(SELECT max(created_at) FROM tearshare.settlement) + interval '${days}'`;
	expect(swept(later("4000 days"))[3] === 0, "without a choice nobody is forgotten");
	const studio = (await owner.get("/v1/studio")).json;
	const set = await owner.patch("/v1/studio", { forget_days: 100 }, studio.version);
	expect(set.status === 200 && set.json.forget_days === 100, "a studio says after how many days", set);
	expect((await owner.patch("/v1/studio", { forget_days: 36501 }, set.json.version)).status === 422, "of which there are at most 36500");
	const last = `(SELECT max(created_at) FROM tearshare.settlement)`;
	expect(swept(`${last} + interval '100 days'`)[3] === 0 && swept(`${last} + interval '100 days 1 second'`)[3] === 1,
		"after them a student goes whom nothing keeps; who has another role, or a workshop that is not settled, stays", swept(`${last} + interval '101 days'`));
	server.sql(`SELECT tearshare.sweep(${last} + interval '101 days')`);
	const kid = (await owner.get(`/v1/members/${s.kid.id}`)).json;
	expect(kid.name === `former member ${s.kid.id}` && !kid.active, "as if erased by hand", kid);
	expect((await owner.get(`/v1/members/${s.zoe.id}`)).json.name === s.zoe.name, "the others stay");
	expect(server.sql(`SELECT count(*) FROM tearshare.event WHERE kind = 'member-erased' AND member_id = ${s.kid.id} AND by_member IS NULL`) === "1", "and it is noted");
	expect((await owner.get("/v1/reconciliation")).json.items.length === 0, "the books agree");
}

server = await startServer();
try {
	const s = await fill();
	await tryExport(s);
	const byOwner = await owner.get(`/v1/members/${s.zoe.id}/export`);
	expect(byOwner.status === 200 && byOwner.text.includes("canarypost") && !byOwner.text.includes("verapost"), "the owner gets it for a member", byOwner.status);
	const me = (await owner.get("/v1/me")).json.member;
	await owner.patch(`/v1/members/${me.id}`, { roles: ["owner", "instructor", "treasurer"] }, me.version);
	await tryHeld(s);
	await tryErase(s);
	await tryRetention(s);
} finally {
	await finish(server);
}
