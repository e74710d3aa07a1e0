#!/usr/bin/env node
// SPDX-License-Identifier: MIT
/*
 * What the API refuses, how it says so, and that nothing has changed by it; and the limits of
 * docs/protocol.md, each at its edge: n is taken, n + 1 is not.
 */
import { startServer, finish, expect, planned } from "./api.mjs";

let server = null, owner = null, student = null, w = null;

async function fill() {
	owner = server.caller(server.ready.owner1);
	const me = (await owner.get("/v1/me")).json.member;
	await owner.patch(`/v1/members/${me.id}`, { roles: ["owner", "instructor", "treasurer"] }, me.version);
	const paper = await owner.made("/v1/papers", { name: "Cold press", weight_gsm: 300, finish: "cold press" });
	const other = await owner.made("/v1/papers", { name: "Hot press", weight_gsm: 300, finish: "hot press" });
	await owner.made("/v1/stock", { paper_id: paper.id, kind: "fresh", name: "45 in roll", width: "45 in",
		length: "10 yd", price_minor: 19200 });
	await owner.made("/v1/stock", { paper_id: paper.id, kind: "roll-end", name: "narrow end", width: "30 in",
		length: "40 in", price_minor: 0, available: 1 });
	const workshop = await owner.made("/v1/workshops", { name: "W", closes_at: "2099-01-01T00:00:00Z",
		starts_on: "2099-01-05", papers: [paper.id] });
	const invitation = await owner.made(`/v1/workshops/${workshop.id}/invitations`, { uses_max: 1000 });
	const joined = await server.caller(null).made("/v1/join", { code: invitation.code, name: "Ann" });
	student = server.caller(joined.key);
	w = { me, paper: paper.id, other: other.id, id: workshop.id, invitation, member: joined.member.id,
		good: { paper_id: paper.id, count: 1, across: "9 in", along: "12 in" } };
}

/* Everything that can be changed, as the database has it. */
function everything() {
	return server.sql(`SELECT md5(string_agg(t, '' ORDER BY t)) FROM (
		SELECT 'r' || r.* ::text FROM tearshare.request r UNION ALL SELECT 'm' || m.* ::text FROM tearshare.member m
		UNION ALL SELECT 'w' || w.* ::text FROM tearshare.workshop w UNION ALL SELECT 's' || s.* ::text FROM tearshare.stock s
		UNION ALL SELECT 'p' || p.* ::text FROM tearshare.paper p UNION ALL SELECT 'e' || e.* ::text FROM tearshare.event e
		UNION ALL SELECT 'l' || l.* ::text FROM tearshare.plan l UNION ALL SELECT 'y' || y.* ::text FROM tearshare.ledger_entry y
		UNION ALL SELECT 'b' || b.* ::text FROM tearshare.booking b UNION ALL SELECT 'i' || i.* ::text FROM tearshare.invoice i
		) x(t)`);
}

/* status, the pointer of the first error, a piece of its text, a piece of its hint */
async function refused(sentence, answer, status, pointer, text, hint) {
	const json = answer.json ?? {};
	const first = (json.errors ?? [{}])[0];
	const whole = [json.detail, json.hint, first.detail, first.hint].join(" ");
	expect(answer.status === status && json.status === status, `${sentence}: status ${status}`, answer);
	expect(answer.headers["content-type"] === "application/problem+json; charset=utf-8", `${sentence}: problem+json`, answer.headers);
	expect(/^\/problems\/[a-z-]+$/.test(json.type) && json.title && json.detail && json.request_id === answer.headers["request-id"],
		`${sentence}: has type, title, detail and the request's id`, json);
	if (pointer)
		expect(first.pointer === pointer || first.parameter === pointer, `${sentence}: names ${pointer}`, json);
	if (text)
		expect(whole.includes(text), `${sentence}: says "${text}"`, json);
	if (hint)
		expect(whole.includes(hint), `${sentence}: advises "${hint}"`, json);
	expect(!/sql|postgres|SELECT|\.c:|\/home|\/tmp/i.test(answer.text), `${sentence}: shows nothing of the inside`, answer.text);
}

const requests = [
	["count 0", { count: 0 }, "/count", "count 0", "1 to 100"],
	["a negative count", { count: -3 }, "/count", "-3", "1 to 100"],
	["a count beyond the limit", { count: 101 }, "/count", "101", "1 to 100"],
	["a count that is no whole number", { count: 1.5 }, "/count", "1.5", "whole"],
	["a count that is a text", { count: "3" }, "/count", "\"3\"", "whole"],
	["a count that is null", { count: null }, "/count", "null", ""],
	["a size of zero", { across: "0 in" }, "/across", "0 in", ""],
	["a size of zero units", { across: 0 }, "/across", "0", ""],
	["a negative size", { along: "-12 in" }, "/along", "-12 in", ""],
	["negative units", { along: -5 }, "/along", "-5", ""],
	["an absurd size", { along: "400 m" }, "/along", "400", "100 m"],
	["a size beyond any length", { along: "99999999999999999999 in" }, "/along", "9999", ""],
	["units beyond any length", { along: 320000001 }, "/along", "320000001", ""],
	["a third of an inch", { across: "1/3 in" }, "/across", "1/3 in", "1/64"],
	["a size without a unit", { across: "9" }, "/across", "9", ""],
	["a decimal comma", { across: "9,5 in" }, "/across", "9,5", ""],
	["a size that is a list", { across: [9] }, "/across", "[9]", ""],
	["a size no stock gives", { across: "46 in" }, "/across", "45 in roll", "45 in"],
	["a size no stock gives because of its margin", { across: "44 1/2 in", margin: "1/2 in" }, "/across", "45 1/2 in", "45 in"],
	["a piece longer than the roll", { along: "361 in" }, "/along", "360 in", ""],
	["an unknown paper", { paper_id: 999999 }, "/paper_id", "999999", ""],
	["a paper that is not of the workshop", () => ({ paper_id: w.other }), "/paper_id", "not one of this workshop", ""],
	["a note of 201 characters", { note: "n".repeat(201) }, "/note", "201", "200"],
	["a note with a control character", { note: "a\u0007b" }, "/note", "control", ""],
	["a note that turns the direction of text", { note: "a\u202eb" }, "/note", "direction", ""],
	["an unknown member", { colour: "red" }, "/colour", "colour", "Leave it out"],
	["an unknown member with a slash and a tilde", { "a/b~c": 1 }, "/a~1b~0c", "", ""],
	["a student who names somebody else", () => ({ member_id: w.me.id }), null, "yourself", "", 403],
];

async function tryRequests() {
	for (const [sentence, change, pointer, text, hint, status] of requests) {
		const before = everything();
		const body = { ...w.good, ...(change instanceof Function ? change() : change) };
		await refused(`request with ${sentence}`, await student.post(`/v1/workshops/${w.id}/requests`, body),
			status ?? 422, pointer, text, hint);
		expect(everything() === before, `request with ${sentence}: nothing has changed`);
	}
	for (const name of ["paper_id", "count", "across", "along"]) {
		const body = { ...w.good };
		delete body[name];
		await refused(`request without ${name}`, await student.post(`/v1/workshops/${w.id}/requests`, body), 422, `/${name}`, "missing", "");
	}
	const many = await student.post(`/v1/workshops/${w.id}/requests`, { ...w.good, count: 0, across: "1/3 in", x: 1 });
	expect(many.json.errors.length === 3, "all that is wrong is named at once", many.json);
}

/* Every body that is no good JSON is 400 and says why. */
async function tryBodies() {
	const path = `/v1/workshops/${w.id}/requests`;
	const raw = async (sentence, bytes, status, text, headers = {}) => {
		const before = everything();
		await refused(sentence, await student.post(path, undefined, { raw: bytes, headers }), status, null, text, "");
		expect(everything() === before, `${sentence}: nothing has changed`);
	};
	const good = JSON.stringify(w.good);
	await raw("a name twice", good.replace("{", '{"count":2,'), 400, "twice");
	await raw("no JSON", "count=1", 400, "not JSON");
	await raw("an empty body", "", 400, "ends too soon");
	await raw("half a body", good.slice(0, -5), 400, "");
	await raw("something after the end", good + "x", 400, "after its end");
	await raw("a list", "[]", 400, "no JSON object");
	await raw("a number beyond 64 bits", '{"count": 99999999999999999999}', 400, "too large");
	await raw("not UTF-8", Buffer.concat([Buffer.from('{"note":"'), Buffer.from([0xc3, 0x28]), Buffer.from('"}')]), 400, "UTF-8");
	await raw("overlong UTF-8", Buffer.concat([Buffer.from('{"note":"'), Buffer.from([0xc0, 0xaf]), Buffer.from('"}')]), 400, "UTF-8");
	await raw("a NUL in a text", '{"note":"a\\u0000b"}', 400, "NUL");
	await raw("half a surrogate pair", '{"note":"\\ud800"}', 400, "");
	await raw("NaN", '{"count": NaN}', 400, "not JSON");
	await raw("a comment", '{"count": 1} // one', 400, "");
	await raw("nested 17 deep", "[".repeat(17) + "]".repeat(17), 400, "deep");
	await raw("nested 60000 deep", "[".repeat(60000), 400, "deep");
	await raw("a form", "count=1", 415, "application/json", { "Content-Type": "application/x-www-form-urlencoded" });
	await raw("a file", "--x", 415, "application/json", { "Content-Type": "multipart/form-data; boundary=x" });
	await raw("no content type", good, 415, "application/json", { "Content-Type": null });
	await raw("another charset", good, 415, "", { "Content-Type": "application/json; charset=latin1" });
	const deep = await student.post(path, undefined, { raw: '{"note":' + "[".repeat(15) + "]".repeat(15) + "}" });
	expect(deep.status === 422, "nested 16 deep is read", deep);
	const charset = await student.post(path, w.good, { headers: { "Content-Type": "application/json; charset=utf-8" } });
	expect(charset.status === 201, "the charset UTF-8 may be named", charset);
}

async function tryHeaders() {
	const path = `/v1/workshops/${w.id}/requests`;
	for (const [sentence, value] of [["no Idempotency-Key", null], ["an empty one", '""'], ["one with a space", '"a b"'],
			["one of 65", "k".repeat(65)], ["one with a quote inside", '"a"b"']]) {
		const headers = value === null ? {} : { "Idempotency-Key": value };
		await refused(`POST with ${sentence}`, await student.post(path, w.good, { once: null, headers }), 400, null, "Idempotency-Key", "/problems/malformed");
	}
	const long = await student.post(path, w.good, { once: null, headers: { "Idempotency-Key": "k".repeat(64) } });
	expect(long.status === 201, "an Idempotency-Key of 64, bare", long);
	const id = long.json.id;
	await refused("PATCH without If-Match", await student.patch(`/v1/requests/${id}`, { count: 2 }), 428, null, "If-Match", "ETag");
	await refused("PATCH with an old version", await student.patch(`/v1/requests/${id}`, { count: 2 }, 99), 412, null, "changed", "");
	await refused("PATCH with a weak tag", await student.patch(`/v1/requests/${id}`, { count: 2 }, undefined,
		{ headers: { "If-Match": 'W/"1"' } }), 412, null, "", "");
	await refused("DELETE without If-Match", await student.delete(`/v1/requests/${id}`), 428, null, "If-Match", "");
	const changed = await student.patch(`/v1/requests/${id}`, { count: 2 }, 1);
	expect(changed.status === 200 && changed.headers.etag === '"2"' && changed.json.count === 2, "PATCH with the version seen", changed);
	await refused("the same PATCH again", await student.patch(`/v1/requests/${id}`, { count: 3 }, 1), 412, null, "", "");
	const list = await student.patch(`/v1/requests/${id}`, { count: 3 }, undefined, { headers: { "If-Match": '"7", "2"' } });
	expect(list.status === 200, "If-Match may be a list", list);
	const any = await student.patch(`/v1/requests/${id}`, { count: 4 }, undefined, { headers: { "If-Match": "*" } });
	expect(any.status === 200, "If-Match * takes any version", any);
	const gone = await student.delete(`/v1/requests/${id}`, 4);
	expect(gone.status === 204 && gone.text === "", "withdrawing answers 204", gone);
	await refused("reading what was withdrawn", await student.get(`/v1/requests/${id}`), 404, null, "", "");
	await refused("withdrawing twice", await student.delete(`/v1/requests/${id}`, 4), 404, null, "", "");
}

async function tryPaths() {
	for (const path of ["/v1/nothing", "/v1/requests/0", "/v1/requests/01", "/v1/requests/x", "/v1/requests/-1",
			"/v1/requests/99999999999999999999", "/v1/papers/1/", "/v1//papers"])
		await refused(`GET ${path}`, await student.get(path), 404, null, "", "");
	const method = await student.send("DELETE", "/v1/papers");
	await refused("DELETE /v1/papers", method, 405, null, "DELETE", "");
	expect(method.headers.allow === "GET, HEAD, POST", "405 names the methods", method.headers);
	const head = await student.send("HEAD", "/v1/papers");
	const get = await student.get("/v1/papers");
	expect(head.status === 200 && head.text === "" && head.headers["content-length"] === get.headers["content-length"], "HEAD is GET without content", head);
	const query = async (path, parameter) => refused(`GET ${path}`, await student.get(path), 422, parameter, "", "");
	await query("/v1/papers?limit=0", "limit");
	await query("/v1/papers?limit=101", "limit");
	await query("/v1/papers?limit=x", "limit");
	await query("/v1/papers?after=-1", "after");
	await query("/v1/papers?colour=red", "query");
	await refused("a parameter twice", await student.get("/v1/papers?limit=1&limit=2"), 400, null, "", "");
	await refused("a broken query", await student.get("/v1/papers?limit=%zz"), 400, null, "", "");
	expect((await student.get("/v1/papers?limit=100")).status === 200, "a page of 100");
	const first = await student.get("/v1/papers?limit=1");
	expect(first.json.items.length === 1 && first.json.next === first.json.items[0].id, "a page says what comes next", first.json);
	const second = await student.get(`/v1/papers?limit=1&after=${first.json.next}`);
	expect(second.json.items.length === 1 && second.json.next === null && second.json.items[0].id === w.other, "the last page says so", second.json);
	for (const type of ["malformed", "key", "right", "missing", "method", "conflict", "stale", "too-large", "media", "input", "version", "limit", "internal", "busy"]) {
		const page = await server.caller(null).get(`/problems/${type}`);
		expect(page.status === 200 && page.text.length > 40, `/problems/${type} explains it`, page);
	}
	const body = await student.send("DELETE", `/v1/requests/1`, { body: {}, headers: { "If-Match": '"1"' } });
	await refused("DELETE with a body", body, 400, null, "no body", "");
	const cookie = await server.caller(null, { Cookie: `__Host-session=${student.key}; session=${student.key}` }).get("/v1/me");
	await refused("a cookie instead of a key", cookie, 401, null, "", "");
	for (const value of ["Basic eDp5", "Bearer", "Bearer x", `bearer${student.key}`, `Bearer ${student.key}x`])
		await refused(`Authorization: ${value.slice(0, 10)}…`, await server.caller(null, { Authorization: value }).get("/v1/me"), 401, null, "", "");
	expect((await server.caller(null, { Authorization: `bearer  ${student.key}` }).get("/v1/me")).status === 200, "the scheme's case does not matter");
}

const others = [
	["POST", "/v1/papers", { name: "", weight_gsm: 300, finish: "rough" }, 422, "/name"],
	["POST", "/v1/papers", { name: "  ", weight_gsm: 300, finish: "rough" }, 422, "/name"],
	["POST", "/v1/papers", { name: "a\nb", weight_gsm: 300, finish: "rough" }, 422, "/name"],
	["POST", "/v1/papers", { name: "a", weight_gsm: 0, finish: "rough" }, 422, "/weight_gsm"],
	["POST", "/v1/papers", { name: "a", weight_gsm: 2001, finish: "rough" }, 422, "/weight_gsm"],
	["POST", "/v1/papers", { name: "a", weight_gsm: 300, finish: "shiny" }, 422, "/finish"],
	["POST", "/v1/papers", { name: "Cold press", weight_gsm: 300, finish: "rough" }, 409, "/name"],
	["POST", "/v1/stock", () => ({ paper_id: 99999, kind: "fresh", name: "x", width: "45 in", length: "10 yd", price_minor: 1 }), 422, "/paper_id"],
	["POST", "/v1/stock", () => ({ paper_id: w.paper, kind: "scroll", name: "x", width: "45 in", length: "10 yd", price_minor: 1 }), 422, "/kind"],
	["POST", "/v1/stock", () => ({ paper_id: w.paper, kind: "fresh", name: "x", width: "0 in", length: "10 yd", price_minor: 1 }), 422, "/width"],
	["POST", "/v1/stock", () => ({ paper_id: w.paper, kind: "fresh", name: "x", width: "45 in", length: "101 m", price_minor: 1 }), 422, "/length"],
	["POST", "/v1/stock", () => ({ paper_id: w.paper, kind: "fresh", name: "x", width: "45 in", length: "10 yd", price_minor: -1 }), 422, "/price_minor"],
	["POST", "/v1/stock", () => ({ paper_id: w.paper, kind: "roll-end", name: "x", width: "45 in", length: "1 yd", price_minor: 0, available: null }), 422, "/available"],
	["POST", "/v1/stock", () => ({ paper_id: w.paper, kind: "fresh", name: "x", width: "45 in", length: "10 yd", price_minor: 1, spoiled: [["5 in", "4 in"]] }), 422, "/spoiled/0"],
	["POST", "/v1/stock", () => ({ paper_id: w.paper, kind: "fresh", name: "x", width: "45 in", length: "10 yd", price_minor: 1, spoiled: [["5 in", "9 in"], ["8 in", "10 in"]] }), 422, "/spoiled/1"],
	["POST", "/v1/workshops", () => ({ name: "x", closes_at: "2030-02-30T00:00:00Z", starts_on: "2030-03-01", papers: [w.paper] }), 422, "/closes_at"],
	["POST", "/v1/workshops", () => ({ name: "x", closes_at: "2030-02-20T00:00:00", starts_on: "2030-03-01", papers: [w.paper] }), 422, "/closes_at"],
	["POST", "/v1/workshops", () => ({ name: "x", closes_at: "2030-02-20T00:00:00Z", starts_on: "2030-2-1", papers: [w.paper] }), 422, "/starts_on"],
	["POST", "/v1/workshops", () => ({ name: "x", closes_at: "2030-02-20T00:00:00Z", starts_on: "2030-03-01", papers: [] }), 422, "/papers"],
	["POST", "/v1/workshops", () => ({ name: "x", closes_at: "2030-02-20T00:00:00Z", starts_on: "2030-03-01", papers: [w.paper, w.paper] }), 422, "/papers/1"],
	["POST", "/v1/workshops", () => ({ name: "x", closes_at: "2030-02-20T00:00:00Z", starts_on: "2030-03-01", papers: [99999] }), 422, "/papers/0"],
	["POST", "/v1/workshops", () => ({ name: "x", closes_at: "2030-02-20T00:00:00Z", starts_on: "2030-03-01", papers: [w.paper], days: 61 }), 422, "/days"],
	["POST", "/v1/workshops", () => ({ name: "x", closes_at: "2030-02-20T00:00:00Z", starts_on: "2030-03-01", papers: [w.paper], stages: 4 }), 422, "/stages"],
	["POST", "/v1/members", { name: "x", roles: [] }, 422, "/roles"],
	["POST", "/v1/members", { name: "x", roles: ["king"] }, 422, "/roles/0"],
	["POST", "/v1/members", { name: "n".repeat(81) }, 422, "/name"],
	["POST", "/v1/members", { name: "x", contact: "a\r\nBcc: b" }, 422, "/contact"],
	["POST", () => `/v1/workshops/${w.id}/plans`, {}, 409, null],
	["POST", () => `/v1/workshops/${w.id}/torn`, {}, 409, null],
	["POST", () => `/v1/workshops/${w.id}/reopen`, {}, 409, null],
	["POST", () => `/v1/workshops/${w.id}/settlements`, () => ({ invoices: [{ paper_id: w.paper, amount_minor: 1 }] }), 409, null],
	["POST", () => `/v1/workshops/${w.id}/payments`, () => ({ member_id: w.member, amount_minor: 0 }), 422, "/amount_minor"],
	["POST", () => `/v1/workshops/${w.id}/payments`, () => ({ member_id: w.member, amount_minor: -5 }), 422, "/amount_minor"],
	["POST", () => `/v1/workshops/${w.id}/payments`, { member_id: 99999, amount_minor: 5 }, 422, "/member_id"],
	["POST", () => `/v1/workshops/${w.id}/members`, { member_id: 99999 }, 422, "/member_id"],
	["POST", () => `/v1/workshops/${w.id}/invitations`, { uses_max: 0 }, 422, "/uses_max"],
	["POST", () => `/v1/workshops/${w.id}/invitations`, { uses_max: 1001 }, 422, "/uses_max"],
	["PATCH", "/v1/studio", { currency: "XXQ" }, 422, "/currency"],
	["PATCH", "/v1/studio", { time_zone: "Moon/Base" }, 422, "/time_zone"],
	["PATCH", "/v1/studio", { ruler: "0 in" }, 422, "/ruler"],
	["PATCH", "/v1/studio", { measure: "cubit" }, 422, "/measure"],
	["PATCH", "/v1/studio", { count_max: 10001 }, 422, "/count_max"],
];

async function tryOthers() {
	const value = (x) => x instanceof Function ? x() : x;
	for (const [method, path, body, status, pointer] of others) {
		const before = everything();
		const sentence = `${method} ${value(path)} ${JSON.stringify(value(body))}`;
		const answer = method === "POST" ? await owner.post(value(path), value(body)) : await owner.patch(value(path), value(body), 1);
		await refused(sentence, answer, status, pointer, "", "");
		expect(everything() === before, `${sentence}: nothing has changed`);
	}
}

/* Each limit at its edge: n is taken, n + 1 is not. */
async function tryEdges() {
	const papers = [];
	for (let i = 0; i < 21; i++)
		papers.push((await owner.made("/v1/papers", { name: `Edge ${i}`, weight_gsm: 300, finish: "rough" })).id);
	const workshop = (more) => ({ name: "Edge", closes_at: "2099-01-01T00:00:00Z", starts_on: "2099-01-05", papers: [w.paper], ...more });
	const stock = (more) => ({ paper_id: papers[0], kind: "fresh", name: "x", width: "45 in", length: "10 yd", price_minor: 1, ...more });
	const run = (n) => Array.from({ length: n }, (_, i) => [10 * i, 10 * i + 5]);
	const ask = `/v1/workshops/${w.id}/requests`;
	const edges = [ /* who, path, body of n, n, pointer */
		[student, ask, (n) => ({ ...w.good, note: "\u00e9".repeat(n) }), 200, "/note"],
		[student, ask, (n) => ({ ...w.good, count: n }), 100, "/count"],
		[owner, "/v1/members", (n) => ({ name: "n".repeat(n) }), 80, "/name"],
		[owner, "/v1/members", (n) => ({ name: "x", contact: "c".repeat(n) }), 200, "/contact"],
		[owner, "/v1/papers", (n) => ({ name: `w${n}`, weight_gsm: n, finish: "rough" }), 2000, "/weight_gsm"],
		[owner, "/v1/stock", (n) => stock({ length: n }), 32000000, "/length"],
		[owner, "/v1/stock", (n) => stock({ width: n }), 32000000, "/width"],
		[owner, "/v1/stock", (n) => stock({ price_minor: n }), 100000000000, "/price_minor"],
		[owner, "/v1/stock", (n) => stock({ available: n }), 10000, "/available"],
		[owner, "/v1/stock", (n) => stock({ spoiled: run(n) }), 100, "/spoiled"],
		[owner, "/v1/workshops", (n) => workshop({ days: n }), 60, "/days"],
		[owner, "/v1/workshops", (n) => workshop({ papers: papers.slice(0, n) }), 20, "/papers"],
		[owner, `/v1/workshops/${w.id}/invitations`, (n) => ({ uses_max: n }), 1000, "/uses_max"],
		[owner, `/v1/workshops/${w.id}/payments`, (n) => ({ member_id: w.member, amount_minor: n }), 100000000000, "/amount_minor"],
	];
	for (const [caller, path, body, n, pointer] of edges) {
		const good = await caller.post(path, body(n));
		expect(good.status === 201, `${pointer} of ${n} is taken`, good);
		await refused(`${pointer} of ${n + 1}`, await caller.post(path, body(n + 1)), 422, pointer, "", "");
	}
	const padded = (n) => JSON.stringify(w.good).padEnd(n, " ");
	expect((await student.post(ask, undefined, { raw: padded(65536) })).status === 201, "a body of 64 KiB is taken");
	const large = await student.post(ask, undefined, { raw: padded(65537), headers: { Connection: "close" } });
	expect(large.status === 413 && large.json.type === "/problems/too-large", "an octet more is 413", large);
	const fields = (n) => Object.fromEntries(Array.from({ length: n }, (_, i) => [`x${i}`, i]));
	const many = await student.post(ask, { ...w.good, ...fields(50) });
	expect(many.status === 422 && many.json.errors.length === 10, "of fifty faults ten are told", many.json);
	const target = "/v1/papers?" + "a".repeat(8000);
	expect([414, 431].includes((await student.get(target, { headers: { Connection: "close" } })).status), "a target over 8000 is 414");
}

/* States: every action in every state it is not for. */
async function tryStates() {
	const before = everything();
	await owner.made(`/v1/workshops/${w.id}/close`, {});
	await refused("closing twice", await owner.post(`/v1/workshops/${w.id}/close`, {}), 409, null, "closed", "");
	await refused("asking after the closing", await student.post(`/v1/workshops/${w.id}/requests`, w.good), 409, null, "closed", "instructor");
	await refused("an invitation to a closed workshop", await owner.post(`/v1/workshops/${w.id}/invitations`, {}), 409, null, "closed", "");
	await refused("joining a closed workshop", await server.caller(null).post("/v1/join", { code: w.invitation.code, name: "Late" }), 404, null, "", "");
	await owner.made(`/v1/workshops/${w.id}/reopen`, {});
	const past = await owner.patch(`/v1/workshops/${w.id}`, { closes_at: "2020-01-01T00:00:00Z" }, 3);
	expect(past.status === 200 && past.json.takes_requests === false, "a closing time in the past takes no requests", past);
	await refused("asking after the closing time", await student.post(`/v1/workshops/${w.id}/requests`, w.good), 409, null, "closing time", "");
	await owner.patch(`/v1/workshops/${w.id}`, { closes_at: "2099-01-01T00:00:00Z" }, 4);
	const empty = await owner.made("/v1/workshops", { name: "Empty", closes_at: "2099-01-01T00:00:00Z", starts_on: "2099-01-05", papers: [w.paper] });
	await refused("planning an open workshop", await owner.post(`/v1/workshops/${empty.id}/plans`, {}), 409, null, "open", "Close it");
	await owner.made(`/v1/workshops/${empty.id}/close`, {});
	await refused("planning an empty workshop", await owner.post(`/v1/workshops/${empty.id}/plans`, {}), 409, null, "no requests", "");
	await refused("shares without a plan", await owner.get(`/v1/workshops/${empty.id}/shares`), 409, null, "no accepted plan", "");
	expect(before !== everything(), "this test would notice a change");
}

/* Bad keys and codes of one address: 60 a minute, then 429; good keys go on. */
async function tryFailures() {
	const own = await startServer({ failures: 60, workers: 0 });
	try {
		const good = own.caller(own.ready.owner1);
		const bad = own.caller("tsk_" + "B".repeat(43));
		let last = null;
		for (let i = 0; i < 59; i++)
			last = await bad.get("/v1/me");
		expect(last.status === 401, "the 59th bad key is 401", last);
		const code = await own.caller(null).post("/v1/join", { code: "0000-00000-0000", name: "x" });
		expect(code.status === 404, "a guessed code is 404 and counts", code);
		last = await bad.get("/v1/me");
		expect(last.status === 429 && last.headers["retry-after"] === "60", "the 61st failure is 429 with Retry-After", last);
		const guess = await own.caller(null).post("/v1/join", { code: "0000-00000-0001", name: "x" });
		expect(guess.status === 429, "codes and keys count together", guess);
		expect((await own.caller("nonsense").get("/v1/me")).status === 429, "a malformed key counts too");
		expect((await good.get("/v1/me")).status === 200, "a good key goes on from the same address");
		expect((await own.caller(null).get("/v1/me")).status === 401, "no key at all is no failed key");
	} finally {
		await own.stop();
	}
	return own;
}

/* One running and three waiting in a studio; another studio does not notice. */
async function tryQueue() {
	const own = await startServer({ workers: 0 });
	try {
		for (const key of [own.ready.owner1, own.ready.owner2]) {
			const o = own.caller(key);
			const me = (await o.get("/v1/me")).json.member;
			await o.patch(`/v1/members/${me.id}`, { roles: ["owner", "instructor"] }, me.version);
			const paper = await o.made("/v1/papers", { name: "P", weight_gsm: 300, finish: "rough" });
			await o.made("/v1/stock", { paper_id: paper.id, kind: "fresh", name: "roll", width: "45 in", length: "10 yd", price_minor: 1 });
			for (let i = 1; i <= (key === own.ready.owner1 ? 5 : 1); i++) {
				const workshop = await o.made("/v1/workshops", { name: `W${i}`, closes_at: "2099-01-01T00:00:00Z", starts_on: "2099-01-05", papers: [paper.id] });
				await o.made(`/v1/workshops/${workshop.id}/members`, { member_id: me.id });
				await o.made(`/v1/workshops/${workshop.id}/requests`, { paper_id: paper.id, count: 1, across: "9 in", along: "12 in" });
				await o.made(`/v1/workshops/${workshop.id}/close`, {});
				const plan = await o.post(`/v1/workshops/${workshop.id}/plans`, {});
				expect(plan.status === (i <= 4 ? 202 : 429), `plan ${i} of a studio is ${i <= 4 ? "taken" : "too many"}`, plan);
				if (i === 5)
					expect(Number(plan.headers["retry-after"]) > 0 && plan.json.detail.includes("4"), "and says when to come back", plan);
				if (i === 1) {
					const again = await o.post(`/v1/workshops/${workshop.id}/plans`, {});
					expect(again.status === 409, "a workshop is planned once at a time", again);
				}
			}
		}
	} finally {
		await own.stop();
	}
	return own;
}

const servers = [];
try {
	server = await startServer();
	await fill();
	await tryRequests();
	await tryBodies();
	await tryHeaders();
	await tryPaths();
	await tryOthers();
	await tryEdges();
	await tryStates();
	servers.push(await tryFailures());
	servers.push(await tryQueue());
} finally {
	for (const s of servers)
		await s.remove();
	await finish(server);
}
