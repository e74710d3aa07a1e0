#!/usr/bin/env node
// SPDX-License-Identifier: MIT
/*
 * Requests that are repeated: one answer, one effect; also many at once, over kill -9, and for
 * answers that hold a secret.
 */
import { startServer, finish, expect, newKey } from "./api.mjs";

let server = null, owner = null, student = null, w = null;

async function fill() {
	owner = server.caller(server.ready.owner1);
	const me = (await owner.get("/v1/me")).json.member;
	await owner.patch(`/v1/members/${me.id}`, { roles: ["owner", "instructor", "treasurer"] }, me.version);
	const paper = await owner.made("/v1/papers", { name: "Cold press", weight_gsm: 300, finish: "cold press" });
	await owner.made("/v1/stock", { paper_id: paper.id, kind: "fresh", name: "45 in roll", width: "45 in", length: "10 yd", price_minor: 19200 });
	const workshop = await owner.made("/v1/workshops", { name: "W", closes_at: "2099-01-01T00:00:00Z", starts_on: "2099-01-05", papers: [paper.id] });
	const invitation = await owner.made(`/v1/workshops/${workshop.id}/invitations`, { uses_max: 1000 });
	const joined = await server.caller(null).made("/v1/join", { code: invitation.code, name: "Ann" });
	student = server.caller(joined.key);
	w = { id: workshop.id, paper: paper.id, code: invitation.code, me: me.id, member: joined.member.id,
		path: `/v1/workshops/${workshop.id}/requests`, good: { paper_id: paper.id, count: 1, across: "9 in", along: "12 in" } };
}

const count = (table, where = "true") => Number(server.sql(`SELECT count(*) FROM tearshare.${table} WHERE ${where}`));

/* The status, what was said, and the fields that belong to it. */
const told = (a) => JSON.stringify([a.status, a.text, a.headers.etag ?? null, a.headers.location ?? null, a.headers["content-type"] ?? null]);

async function tryAgain() {
	const once = newKey(), before = count("request"), events = count("event");
	const first = await student.post(w.path, w.good, { once });
	const second = await student.post(w.path, w.good, { once });
	expect(first.status === 201, "the first is done", first);
	expect(told(first) === told(second), "the second is told the same, octet by octet", [told(first), told(second)]);
	expect(first.headers["request-id"] !== second.headers["request-id"], "each exchange has its own id");
	expect(count("request") === before + 1 && count("event") === events + 1, "it is done once");
	const other = await student.post(w.path, { ...w.good, count: 2 }, { once });
	expect(other.status === 422 && other.json.detail.includes("Idempotency-Key"), "another body under the key is refused", other);
	const spaced = await student.post(w.path, undefined, { once, raw: JSON.stringify(w.good) + " " });
	expect(spaced.status === 422, "the body counts octet by octet", spaced);
	const path = await owner.made("/v1/workshops", { name: "V", closes_at: "2099-01-01T00:00:00Z", starts_on: "2099-01-05", papers: [w.paper] });
	await owner.made(`/v1/workshops/${path.id}/members`, { member_id: w.member });
	const elsewhere = await student.post(`/v1/workshops/${path.id}/requests`, w.good, { once });
	expect(elsewhere.status === 422, "another path under the key is refused", elsewhere);
	const bare = await student.post(w.path, w.good, { once: null, headers: { "Idempotency-Key": once } });
	expect(told(bare) === told(first), "the key may stand bare", bare);
	await owner.made(`/v1/workshops/${w.id}/members`, { member_id: w.me });
	const somebody = await owner.post(w.path, w.good, { once });
	expect(somebody.status === 201 && somebody.json.member_id === w.me, "keys of two callers are two keys", somebody);
	expect(count("request") === before + 2, "and nothing else was done");
}

/* Sixteen at once: one is done; the others hear the same, or that it is under way. */
async function tryAtOnce() {
	for (let round = 0; round < 4; round++) {
		const once = newKey(), before = count("request");
		const answers = await Promise.all(Array.from({ length: 16 }, () => student.post(w.path, w.good, { once })));
		const good = answers.filter((a) => a.status === 201);
		expect(good.length >= 1 && new Set(good.map(told)).size === 1, "those that are answered are told the same", answers.map((a) => a.status));
		expect(answers.every((a) => a.status === 201 || (a.status === 409 && a.headers["retry-after"] !== undefined)),
			"the others hear that it is under way", answers.map((a) => a.status));
		expect(count("request") === before + 1, "sixteen at once are done once");
		expect(told(await student.post(w.path, w.good, { once })) === told(good[0]), "and a later one is told the same");
	}
}

/* A refusal is an answer too; what is the server's own trouble is not. */
async function tryRefusals() {
	const once = newKey();
	await owner.made(`/v1/workshops/${w.id}/close`, {});
	const refused = await student.post(w.path, w.good, { once });
	await owner.made(`/v1/workshops/${w.id}/reopen`, {});
	const again = await student.post(w.path, w.good, { once });
	expect(refused.status === 409 && told(refused) === told(again), "a refusal is told again", [told(refused), told(again)]);
	expect((await student.post(w.path, w.good)).status === 201, "with a new key it is done");
	const bad = newKey();
	const first = await student.post(w.path, { ...w.good, count: 0 }, { once: bad });
	const other = await student.post(w.path, w.good, { once: bad });
	expect(first.status === 422 && other.status === 422 && other.json.detail.includes("Idempotency-Key"), "a refused request has used its key", other);
	const missing = newKey();
	expect((await student.post("/v1/workshops/99999/requests", w.good, { once: missing })).status === 404, "what is not there is 404");
	expect((await student.post(w.path, w.good, { once: missing })).status === 201, "and has not used its key: rights come first");
}

async function tryChange() {
	const r = (await student.post(w.path, w.good)).json;
	const headers = { "Idempotency-Key": `"${newKey()}"` };
	const first = await student.patch(`/v1/requests/${r.id}`, { count: 5 }, 1, { headers });
	const second = await student.patch(`/v1/requests/${r.id}`, { count: 5 }, 1, { headers });
	expect(first.status === 200 && told(first) === told(second), "a change with a key is told again instead of 412", [first, second]);
	expect((await student.patch(`/v1/requests/${r.id}`, { count: 5 }, 1)).status === 412, "without one it is stale");
}

/* Rights are decided anew: what was kept for a member who has lost the role is not told. */
async function tryRights() {
	const member = await owner.made("/v1/members", { name: "Once an instructor", roles: ["instructor"] });
	const key = await owner.made(`/v1/members/${member.id}/keys`, { name: "k" });
	const caller = server.caller(key.key), once = newKey();
	const paper = { name: `P${once}`, weight_gsm: 200, finish: "rough" };
	expect((await caller.post("/v1/papers", paper, { once })).status === 201, "an instructor adds a paper");
	await owner.patch(`/v1/members/${member.id}`, { roles: ["student"] }, 1);
	expect((await caller.post("/v1/papers", paper, { once })).status === 403, "rights come before what was kept");
}

async function trySecrets() {
	const once = newKey(), before = count("key");
	const first = await student.post(`/v1/members/${w.member}/keys`, { name: "phone" }, { once });
	const second = await student.post(`/v1/members/${w.member}/keys`, { name: "phone" }, { once });
	expect(first.status === 201 && told(first) === told(second), "the same key is shown again", [first.text, second.text]);
	expect(count("key") === before + 1, "one key was made");
	expect((await server.caller(second.json.key).get("/v1/me")).status === 200, "and it is good");
	const invitation = await owner.made(`/v1/workshops/${w.id}/invitations`, { uses_max: 1 });
	const join = { code: invitation.code, name: "Ben" }, joinOnce = newKey();
	const joined = await server.caller(null).post("/v1/join", join, { once: joinOnce });
	const rejoined = await server.caller(null).post("/v1/join", join, { once: joinOnce });
	expect(joined.status === 201 && told(joined) === told(rejoined), "joining again is told the same, although it is used up", [joined, rejoined]);
	expect((await server.caller(null).post("/v1/join", join)).status === 404, "another does not join with it");
	await tryJoinAsMember();
	const link = invitation.link.slice(invitation.link.lastIndexOf("/") + 1);
	expect(link.length === 26 && (await server.caller(null).post("/v1/join", { code: link, name: "x" })).status === 404, "the link's token ends with its code");
	const inviteOnce = newKey(), path = `/v1/workshops/${w.id}/invitations`;
	const i1 = await owner.post(path, {}, { once: inviteOnce }), i2 = await owner.post(path, {}, { once: inviteOnce });
	expect(i1.status === 201 && told(i1) === told(i2), "the same invitation is shown again", [i1.text, i2.text]);
	const typed = i1.json.code.toLowerCase().replaceAll("-", " ").replaceAll("0", "o").replaceAll("1", "l");
	expect((await server.caller(null).post("/v1/join", { code: typed, name: "Cy" })).status === 201, "a code may be typed carelessly", typed);
	const kept = count("kept_answer", "encode(body, 'escape') LIKE '%tsk\\_%' OR encode(body, 'escape') LIKE '%/join/%'");
	expect(kept === 0, "no secret lies readable among the kept answers", kept);
}

/* Who has a key keeps it; who takes part already uses nothing up; other studios are elsewhere. */
async function tryJoinAsMember() {
	const other = await owner.made("/v1/workshops", { name: "Other", closes_at: "2099-01-01T00:00:00Z", starts_on: "2099-01-05", papers: [w.paper] });
	const invitation = await owner.made(`/v1/workshops/${other.id}/invitations`, { uses_max: 2 });
	const first = await student.post("/v1/join", { code: invitation.code });
	expect(first.status === 200 && first.json.key === null && first.json.member.id === w.member && first.json.workshop.id === other.id,
		"a member joins with their own key", first);
	expect((await student.get(`/v1/workshops/${other.id}`)).status === 200, "and takes part");
	const again = await student.post("/v1/join", { code: invitation.code });
	expect(again.status === 200, "joining twice is no harm", again);
	const uses = (await owner.get(`/v1/workshops/${other.id}/invitations`)).json.items[0];
	expect(uses.uses === 1 && uses.code === undefined && uses.link === undefined, "and uses nothing up; no list shows a code", uses);
	expect((await student.post("/v1/join", { code: invitation.code, name: "Another" })).status === 422, "with a key there is no name to give");
	expect((await server.caller(server.ready.owner2).post("/v1/join", { code: invitation.code })).status === 404, "a member of another studio does not join here");
	for (let i = 0; i < 5; i++)
		await server.caller(null).get(`/join/${invitation.link.slice(invitation.link.lastIndexOf("/") + 1)}`);
	expect((await owner.get(`/v1/workshops/${other.id}/invitations`)).json.items[0].uses === 1, "looking at the link counts nothing");
	await owner.delete(`/v1/invitations/${invitation.id}`);
	expect((await server.caller(null).post("/v1/join", { code: invitation.code, name: "x" })).status === 404, "revoked, it is not there");
	expect((await owner.delete(`/v1/invitations/${invitation.id}`)).status === 204, "revoking twice is no harm");
}

/* Kill the server while sixteen clients post; start it again; ask again with the same keys. */
async function tryKill() {
	const acknowledged = new Map(), open = new Set(), before = count("request");
	let stop = false;
	const client = async (n) => {
		for (let i = 0; !stop; i++) {
			const once = `kill-${n}-${i}`;
			open.add(once);
			try {
				const answer = await student.post(w.path, w.good, { once });
				if (answer.status === 201) {
					acknowledged.set(once, told(answer));
					open.delete(once);
				}
			} catch {
				return; /* the server is gone */
			}
			if (acknowledged.size === 200)
				server.child.kill("SIGKILL");
		}
	};
	await Promise.all(Array.from({ length: 16 }, (_, n) => client(n)));
	stop = true;
	await server.stop("SIGKILL");
	await server.start();
	let same = 0;
	for (const [once, first] of acknowledged)
		same += told(await student.post(w.path, w.good, { once })) === first;
	expect(same === acknowledged.size, "what was acknowledged is told again after kill -9", [same, acknowledged.size]);
	for (const once of open)
		acknowledged.set(once, told(await student.post(w.path, w.good, { once })));
	expect(count("request") === before + acknowledged.size, "each is there exactly once", [count("request") - before, acknowledged.size]);
}

try {
	server = await startServer({ workers: 0 });
	await fill();
	await tryAgain();
	await tryAtOnce();
	await tryRefusals();
	await tryChange();
	await tryRights();
	await trySecrets();
	await tryKill();
} finally {
	await finish(server);
}
