#!/usr/bin/env node
// SPDX-License-Identifier: MIT
/*
 * Sessions, forms and invitations of the pages: what docs/security.md promises of them, each
 * promise tried from outside.  The clock is moved in the database.
 */
import { startServer, finish, expect, newKey } from "./api.mjs";
import { Visitor } from "./browser.mjs";

let server = null;
const w = {};

async function fill() {
	const owner = server.caller(server.ready.owner1);
	w.owner = owner;
	w.keys = { owner: server.ready.owner1 };
	w.ids = {};
	for (const [name, roles] of [["student", ["student"]], ["instructor", ["instructor"]]]) {
		w.ids[name] = (await owner.made("/v1/members", { name, roles })).id;
		w.keys[name] = (await owner.made(`/v1/members/${w.ids[name]}/keys`, { name: "test" })).key;
	}
	w.paper = (await owner.made("/v1/papers", { name: "Cold press", weight_gsm: 300, finish: "cold press" })).id;
	await owner.made("/v1/stock", { paper_id: w.paper, kind: "fresh", name: "roll", width: "45 in", length: "10 yd", price_minor: 19200 });
	w.workshop = (await owner.made("/v1/workshops", { name: "By the water", closes_at: "2099-01-01T00:00:00Z",
		starts_on: "2099-01-05", papers: [w.paper] })).id;
	await owner.made(`/v1/workshops/${w.workshop}/members`, { member_id: w.ids.student });
}

async function visitor(name, more) {
	const v = new Visitor(server, more);
	await v.signIn(w.keys[name]);
	return v;
}

const home = `/workshops/`;
const form = () => ({ paper_id: w.paper, count: 2, across: "9 in", along: "12 in", margin: "1/4 in" });
const ask = (v, fields = {}, headers = {}) => v.post(home + w.workshop, { ...form(), ...fields }, headers);
const requests = async () => (await w.owner.get(`/v1/workshops/${w.workshop}/requests`)).json.items.length;

/* ---- the cookie ---- */

async function cookie() {
	const v = new Visitor(server);
	const answer = await v.signIn(w.keys.student);
	const set = String(answer.headers["set-cookie"]);
	expect(/^studio=[\w-]{43}; Path=\/; Max-Age=\d+; HttpOnly; SameSite=Lax$/.test(set), "the cookie on a loopback without TLS", set);
	expect(Buffer.from(v.cookie, "base64url").length === 32, "32 bytes");
	expect(!server.dump().includes(v.cookie), "the database does not hold it");
	const first = v.cookie;
	await v.signIn(w.keys.student);
	expect(v.cookie !== first, "a sign-in makes a new one");
	const old = new Visitor(server);
	old.cookie = first;
	expect((await old.get("/me")).status === 401, "and the old one is dead");
	expect((await w.owner.get("/v1/me")).status === 200 && (await v.http.send("GET", "/v1/me",
		{ headers: { Cookie: `studio=${v.cookie}` } })).status === 401, "the API takes no cookie");
	expect((await new Visitor(server).get("/me", { Authorization: `Bearer ${w.keys.student}` })).status === 401, "and pages take no key");
}

async function signOut() {
	const v = await visitor("student"), before = v.cookie;
	const answer = await v.post("/signout");
	expect(answer.status === 303 && /cookies/.test(answer.headers["clear-site-data"]), "sign-out clears the site's data", answer);
	expect(/^studio=; .*Max-Age=0/.test(String(answer.headers["set-cookie"])), "and the cookie", answer.headers);
	v.cookie = before;
	expect((await v.get("/me")).status === 401, "and ends the session on the server");
}

async function ends() {
	const a = await visitor("student"), b = await visitor("student");
	expect((await a.post("/me/sessions")).status === 303, "end all others");
	expect((await b.get("/me")).status === 401 && (await a.get("/me")).status === 200, "ends all others and not this one");
	const id = (await w.owner.made("/v1/members", { name: "leaving", roles: ["student"] })).id;
	w.keys.leaving = (await w.owner.made(`/v1/members/${id}/keys`, { name: "k" })).key;
	const c = await visitor("leaving");
	await w.owner.patch(`/v1/members/${id}`, { active: false }, 1);
	expect((await c.get("/me")).status === 401, "a member who left has no session");
}

/* Idle and absolute limits; the clock of the database is moved by moving the rows. */
async function limits() {
	for (const [who, column, age, alive] of [
		["student", "last_seen_at", "29 days", true], ["student", "last_seen_at", "31 days", false],
		["student", "created_at", "179 days", true], ["student", "created_at", "181 days", false],
		["instructor", "last_seen_at", "23 hours", true], ["instructor", "last_seen_at", "25 hours", false],
		["instructor", "created_at", "29 days", true], ["instructor", "created_at", "31 days", false],
	]) {
		const v = await visitor(who);
		server.sql(`UPDATE session SET ${column} = now() - interval '${age}' WHERE session_id = (SELECT max(session_id) FROM session)`);
		const status = (await v.get("/me")).status;
		expect((status === 200) === alive, `${who}: ${column} ${age} ago is ${alive ? "alive" : "over"}`, status);
	}
}

/* ---- forms ---- */

async function forms() {
	const v = await visitor("student"), other = await visitor("instructor");
	const own = `http://${server.ready.address}`;
	const before = await requests();
	for (const [what, fields, headers, status] of [
		["no token", { token: undefined }, {}, 403],
		["an empty token", { token: "" }, {}, 403],
		["the token of another session", { token: other.token() }, {}, 403],
		["another origin", {}, { Origin: "https://evil.example" }, 403],
		["another scheme", {}, { Origin: own.replace("http:", "https:") }, 403],
		["another port", {}, { Origin: "http://127.0.0.1:1" }, 403],
		["a cross-site form", {}, { "Sec-Fetch-Site": "cross-site" }, 403],
		["a same-site form of another host", {}, { "Sec-Fetch-Site": "same-site" }, 403],
		["a typed address", {}, { "Sec-Fetch-Site": "none" }, 403],
		["no key of the form", { once: undefined }, {}, 400],
		["a key of the form that is none", { once: "a b" }, {}, 400],
		["JSON", {}, { "Content-Type": "application/json" }, 415],
		["plain text", {}, { "Content-Type": "text/plain" }, 415],
		["a file", {}, { "Content-Type": "multipart/form-data; boundary=x" }, 415],
		["no content type", {}, { "Content-Type": null }, 415],
		["no size", { across: "" }, {}, 422],
	]) {
		const answer = await ask(v, fields, headers);
		expect(answer.status === status, `${what}: ${status}`, answer);
		expect(/<html lang="en">/.test(answer.text), `${what}: answered by a page`);
	}
	const raw = (text) => v.http.send("POST", home + w.workshop,
		{ raw: text, headers: v.headers({ "Content-Type": "application/x-www-form-urlencoded" }) });
	const whole = new URLSearchParams({ ...form(), token: v.token(), once: newKey() }).toString();
	for (const [what, text, status] of [
		["a field twice", `${whole}&count=3`, 400],
		["a broken code", `${whole}&note=%zz`, 400],
		["a NUL", `${whole}&note=%00`, 400],
		["not UTF-8", `${whole}&note=%ff`, 400],
		["101 fields", whole + Array.from({ length: 101 }, (_, i) => `&x${i}=1`).join(""), 400],
		["over 16 KiB", `${whole}&x=${"a".repeat(16384)}`, 400],
		["over 64 KiB", `${whole}&x=${"a".repeat(70000)}`, 413],
	])
		expect((await raw(text)).status === status, `${what}: ${status}`, (await raw(text)).status);
	expect(await requests() === before, "and none of them asked for a sheet");
	for (const headers of [{}, { Origin: own }, { "Sec-Fetch-Site": "same-origin" },
		{ Origin: "null", "Sec-Fetch-Site": "same-origin" }, { Origin: "null" },
		{ "Content-Type": "application/x-www-form-urlencoded; charset=utf-8" }])
		expect((await ask(v, {}, headers)).status === 303, "our own form is taken", headers);
	expect(await requests() === before + 6, "each once");
}

async function once() {
	const v = await visitor("student"), before = await requests(), key = newKey();
	const [a, b] = await Promise.all([ask(v, { once: key }), ask(v, { once: key })]);
	expect([a.status, b.status].every((s) => s === 303 || s === 409), "the same form twice at once", [a.status, b.status]);
	/* The one that was told to come back may still be on its way out. */
	let c = await ask(v, { once: key });
	while (c.status === 409)
		c = await ask(v, { once: key });
	expect(c.status === 303 && c.headers.location === (a.status === 303 ? a : b).headers.location, "and later: the first answer", c);
	expect(await requests() === before + 1, "asks once");
	expect((await ask(v, { once: key, count: 5 })).status === 422, "with something else in it: no");
}

/* The version that was seen: a change over somebody else's change is shown, not made. */
async function stale() {
	const v = await visitor("student");
	const where = (await ask(v)).headers.location;
	const id = where.match(/asked=(\d+)/)[1];
	const page = (await v.get(`/requests/${id}`)).text;
	const version = page.match(/name="version" value="(\d+)"/)[1];
	await w.owner.get("/v1/me");
	const i = server.caller(w.keys.instructor);
	const seen = await i.get(`/v1/requests/${id}`);
	await i.patch(`/v1/requests/${id}`, { count: 7 }, seen.json.version);
	const late = await v.post(`/requests/${id}`, { ...form(), count: 9, version });
	expect(late.status === 412 && /value="9"/.test(late.text), "a stale change comes back with what was typed", late);
	const now = late.text.match(/name="version" value="(\d+)"/)[1];
	expect((await v.post(`/requests/${id}`, { ...form(), count: 9, version: now })).status === 303, "and can be sent again");
	expect((await v.post(`/requests/${id}/withdraw`, { version })).status === 412, "withdrawing too");
}

/* A form of a session that has ended is offered again, and what is in it stays text. */
async function kept() {
	const v = await visitor("student"), before = await requests();
	const hostile = `"><script>alert(1)</script>`;
	server.sql("UPDATE session SET ended_at = now() WHERE ended_at IS NULL");
	const answer = await ask(v, { note: hostile });
	expect(answer.status === 401 && answer.text.includes('name="kept-count" value="2"'), "kept in the sign-in form", answer);
	expect(!answer.text.includes("<script>") && !answer.text.includes(v.token()), "escaped, and without the old token");
	const fields = {};
	for (const [, name, value] of answer.text.matchAll(/name="(kept-[^"]*)" value="([^"]*)"/g))
		fields[name] = value.replace(/&quot;/g, '"').replace(/&lt;/g, "<").replace(/&gt;/g, ">").replace(/&#39;/g, "'").replace(/&amp;/g, "&");
	v.cookie = null;
	const wrong = await v.post("/signin", { ...fields, key: "tsk_no" });
	expect(wrong.status === 422 && wrong.text.includes('name="kept-count" value="2"'), "a wrong key keeps it", wrong);
	const offered = await v.post("/signin", { ...fields, key: w.keys.student });
	expect(offered.status === 200 && offered.text.includes("Send it now") && !offered.text.includes("<script>"), "offered after signing in", offered);
	expect(await requests() === before, "and not sent by itself");
	const away = await v.post("/signin", { key: w.keys.student, "kept-path": "//evil.example/x", "kept-a": "1" });
	expect(away.status === 303 && away.headers.location === "/?said=signed-in", "never to another place", away);
}

async function redirects() {
	for (const [to, where] of [["/me", "/me"], ["//evil.example", null], ["/\\evil.example", null], ["https://evil.example", null],
		["javascript:alert(1)", null], ["\t//evil.example", null], ["/%0d%0aSet-Cookie:x", "/%0d%0aSet-Cookie:x"]]) {
		const v = new Visitor(server);
		const answer = await v.post("/signin", { key: w.keys.student, to });
		expect(answer.status === 303 && answer.headers.location === (where ?? "/?said=signed-in"), `signing in leads to ${where ?? "our first page"} for "${to}"`, answer);
	}
}

/* ---- invitations ---- */

async function invitations() {
	const made = async (more = {}) => w.owner.made(`/v1/workshops/${w.workshop}/invitations`, more);
	const uses = async (id) => (await w.owner.get(`/v1/workshops/${w.workshop}/invitations`)).json.items.find((i) => i.id === id).uses;
	const i = await made({ uses_max: 1 }), path = new URL(i.link).pathname;
	for (let n = 0; n < 50; n++)
		await new Visitor(server).get(path);
	expect(await uses(i.id) === 0, "opening the link 50 times uses nothing");
	const v = new Visitor(server);
	const nameless = await v.post(path, { name: " " });
	expect(nameless.status === 422 && /name is missing/.test(nameless.text), "a name is needed", nameless);
	const key = newKey(), joined = await v.post(path, { name: "Newcomer", contact: "", once: key });
	expect(joined.status === 303 && joined.headers.location.startsWith(`/workshops/${w.workshop}?`), "then to a clean address", joined);
	const set = String(joined.headers["set-cookie"]);
	v.cookie = set.slice(7, set.indexOf(";"));
	expect((await v.get(joined.headers.location)).status === 200, "signed in");
	expect(await uses(i.id) === 1, "used once");
	const again = await new Visitor(server).post(path, { name: "Newcomer", contact: "", once: key });
	expect(again.status === 303 && String(again.headers["set-cookie"]) === set, "the same form again: the same answer", again);
	expect(await uses(i.id) === 1, "and nobody new");
	const revoked = await made();
	await w.owner.delete(`/v1/invitations/${revoked.id}`);
	const expired = await made();
	server.sql(`UPDATE invitation SET expires_at = now() - interval '1 second' WHERE invitation_id = ${expired.id}`);
	const seen = new Set();
	for (const dead of [path, new URL(revoked.link).pathname, new URL(expired.link).pathname, `/join/${"A".repeat(26)}`, "/join/x"])
		for (const send of [(p) => new Visitor(server).get(p), (p) => new Visitor(server).post(p, { name: "Late" })]) {
			const answer = await send(dead);
			expect(answer.status === 404, `used up, revoked, expired, guessed: 404 (${dead})`, answer);
			seen.add(answer.text);
		}
	expect(seen.size === 1, "and all the same page", [...seen].map((t) => t.length));
	expect(!server.log().includes(path), "no invitation in the log");
}

/* ---- every answer ---- */

async function headers() {
	const v = await visitor("student");
	for (const path of ["/", "/help", "/signin", "/me", "/nowhere", `/workshops/${w.workshop}`, "/join/x"]) {
		const { headers: h } = await v.get(path);
		const policy = h["content-security-policy"] ?? "";
		for (const part of ["default-src 'none'", "style-src 'self'", "form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'"])
			expect(policy.includes(part), `${path}: ${part}`, policy);
		expect(!/unsafe|\*|http|data:/.test(policy), `${path}: nothing else`, policy);
		expect(h["x-content-type-options"] === "nosniff" && h["referrer-policy"] === "no-referrer" && h["cache-control"] === "no-store",
			`${path}: nosniff, no-referrer, no-store`, h);
	}
	const style = await v.get((await v.get("/")).text.match(/href="(\/static\/style[^"]*)"/)[1]);
	expect(style.status === 200 && style.headers["content-type"] === "text/css; charset=utf-8"
		&& /immutable/.test(style.headers["cache-control"]), "the style sheet may be kept", style.headers);
	for (const path of ["/static/", "/static/..", "/static/../style.css", "/static/none.css"])
		expect([400, 404].includes((await v.get(path)).status), `${path} is nothing`);
}

/* Names of row 22 through the pages: they stay text wherever they are shown. */
async function hostile() {
	const names = [`<b>bold</b>`, `" onx="alert(1)`, `javascript:alert(1)`, `]]></title><script>alert(1)</script>`, `שלום`];
	const i = await visitor("instructor");
	for (const name of names) {
		const member = await w.owner.made("/v1/members", { name, roles: ["student"] });
		await w.owner.made(`/v1/workshops/${w.workshop}/members`, { member_id: member.id });
		await w.owner.made(`/v1/members/${member.id}/keys`, { name });
		await server.caller(w.keys.instructor).made(`/v1/workshops/${w.workshop}/requests`,
			{ paper_id: w.paper, count: 1, across: "9 in", along: "12 in", member_id: member.id, note: name });
		for (const path of [`/members/${member.id}`, "/members", `/workshops/${w.workshop}/requests`, `/workshops/${w.workshop}`]) {
			const { text } = await i.get(path);
			expect(!/<b>|<script|" onx=/.test(text.replace(/<bdi>/g, "")), `"${name}" stays text on ${path}`);
		}
	}
	for (const name of ["\u202eevil", "line\r\nfeed", "a\u0007b", "x".repeat(81)])
		expect((await i.post("/members", { name })).status === 422, `${JSON.stringify(name).slice(0, 20)} is no name`);
	expect((await i.get("/members")).text.includes("<bdi>שלום</bdi>"), "a name of another script is a name");
}

async function failures() {
	const v = new Visitor(server);
	let status = 0, n = 0;
	while (status !== 429 && n++ < 100)
		status = (await v.post("/signin", { key: `tsk_${"B".repeat(43)}` })).status;
	expect(status === 429 && n > 20 && n <= 61, "too many wrong keys: 429", [status, n]);
	const answer = await v.post("/signin", { key: "tsk_no" });
	expect(answer.headers["retry-after"] === "60", "with Retry-After", answer.headers);
	expect((await visitor("student")).cookie !== null, "a good key goes on from the same address");
}

try {
	server = await startServer({ failures: 60 });
	await fill();
	for (const test of [cookie, signOut, ends, limits, forms, once, stale, kept, redirects, invitations, headers, hostile, failures])
		await test();
} finally {
	await finish(server);
}
