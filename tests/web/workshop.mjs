#!/usr/bin/env node
// SPDX-License-Identifier: MIT
/*
 * A workshop from its first request to its last share, through the API: two papers, limited
 * stock, plans that grow old, settlements that change, and everybody at once.
 *
 * Shares are computed again here by largest remainder (Hamilton's method, Balinski and Young,
 * "Fair Representation", 1982) from the areas alone, in whole numbers; who takes the odd
 * cent is left to the server, that the shares add up and lie within one cent is not.
 */
import { startServer, finish, expect, planned } from "./api.mjs";

let server = null, owner = null, cold = 0, hot = 0;
const members = [];

async function fill() {
	owner = server.caller(server.ready.owner1);
	const me = (await owner.get("/v1/me")).json.member;
	await owner.patch(`/v1/members/${me.id}`, { roles: ["owner", "instructor", "treasurer"] }, me.version);
	await owner.patch("/v1/studio", { keep: "6 in", flattening_days: 3, time_zone: "America/New_York", names_on_sheets: true }, 1);
	cold = (await owner.made("/v1/papers", { name: "Cold press 300", weight_gsm: 300, finish: "cold press" })).id;
	hot = (await owner.made("/v1/papers", { name: "Hot press 300", weight_gsm: 300, finish: "hot press" })).id;
	await owner.made("/v1/stock", { paper_id: cold, kind: "fresh", name: "45 in roll", width: "45 in", length: "10 yd", price_minor: 19201 });
	await owner.made("/v1/stock", { paper_id: hot, kind: "fresh", name: "51 in roll", width: "51 in", length: "10 yd", price_minor: 21700 });
	for (let i = 0; i < 7; i++) {
		const member = await owner.made("/v1/members", { name: `Member${i} Surname` });
		const key = await owner.made(`/v1/members/${member.id}/keys`, { name: "k" });
		members.push({ id: member.id, caller: server.caller(key.key) });
	}
}

async function open(name) {
	const w = await owner.made("/v1/workshops", { name, closes_at: "2099-01-01T22:00:00Z", starts_on: "2099-01-05",
		flat_on: "2099-01-05", days: 3, papers: [cold, hot] });
	for (const m of members)
		await owner.made(`/v1/workshops/${w.id}/members`, { member_id: m.id });
	return w.id;
}

async function ask(id, m, body) {
	return m.caller.made(`/v1/workshops/${id}/requests`, body);
}

async function plan(id) {
	const answer = await owner.post(`/v1/workshops/${id}/plans`, {});
	if (answer.status !== 202)
		throw new Error(answer.text);
	return planned(owner, answer.json.id);
}

/* Whole cents of the exact proportion, one more for as many as are left. */
function withinOneCent(cost, areas, shares) {
	const total = areas.reduce((a, b) => a + b, 0n);
	return areas.every((area, i) => {
		const exact = BigInt(cost) * area, low = exact / total;
		return shares[i] === low || shares[i] === low + 1n;
	});
}

async function checkShares(id, costs) {
	const shares = (await owner.get(`/v1/workshops/${id}/shares`)).json;
	const requests = (await owner.get(`/v1/workshops/${id}/requests?limit=100`)).json.items;
	let sum = 0;
	for (const [paper, cost] of Object.entries(costs)) {
		const areas = [], parts = [];
		for (const item of shares.items) {
			const own = requests.filter((r) => r.member_id === item.member_id && r.paper_id === Number(paper))
				.reduce((a, r) => a + BigInt(r.torn.across.u) * BigInt(r.torn.along.u) * BigInt(r.count), 0n);
			const part = item.parts.find((p) => p.paper_id === Number(paper));
			expect((own > 0n) === (part !== undefined), "who asked for a paper has a part of it", item);
			if (part) {
				expect(BigInt(part.area_uu) === own, "the area of a part is that of the requests", [part, String(own)]);
				areas.push(own);
				parts.push(BigInt(part.share_minor));
			}
		}
		expect(parts.reduce((a, b) => a + b, 0n) === BigInt(cost), `the parts of paper ${paper} add up to ${cost}`, parts.map(String));
		expect(withinOneCent(cost, areas, parts), `each part of paper ${paper} is within one cent`, parts.map(String));
		sum += cost;
	}
	expect(shares.sum_minor === sum && shares.items.reduce((a, i) => a + i.share_minor, 0) === sum, "the shares add up", shares);
	return shares;
}

/* A request that is changed makes the estimate old, not wrong; asked for again it is new. */
async function estimated(id) {
	for (;;) {
		const e = (await owner.get(`/v1/workshops/${id}/estimate`)).json;
		if (e.state !== "working")
			return e;
		await new Promise((r) => setTimeout(r, 50));
	}
}

async function tryEstimate(id) {
	const path = `/v1/workshops/${id}/estimate`;
	expect((await owner.get(path)).json.state === "none", "nobody has asked for an estimate");
	expect((await members[0].caller.post(path, {})).json.state === "working", "a member asks for it");
	const e = await estimated(id);
	expect(e.state === "ready" && e.current && e.cost_minor > 0 && e.items.length === 7, "it is ready", e);
	expect(e.items.reduce((a, i) => a + i.share_minor, 0) === e.cost_minor, "its shares add up to the cost", e);
	const requests = (await owner.get(`/v1/workshops/${id}/requests?limit=100`)).json.items;
	for (const item of e.items) {
		expect(item.filled_minor <= item.share_minor || item.share_minor === item.alone_minor, "full rolls are cheaper", item);
		expect(e.ceiling !== "kept" || item.share_minor <= item.alone_minor, "nobody pays more than alone", item);
		const own = requests.filter((r) => r.member_id === item.member_id).map((r) => r.id).sort().join();
		expect(item.requests.map((r) => r.request_id).sort().join() === own, "each request is told what it adds", item);
		expect(item.requests.every((r) => r.adds_minor >= 0 && r.rolls >= 0 && (r.rolls > 0) === (r.adds_minor > 0)),
			"whoever tips a roll adds its price, and nobody else adds anything", item);
		expect(item.hints.every((h) => h.each_minor >= 1 && h.share_minor < item.share_minor), "a hint saves something", item);
	}
	const own = (await members[0].caller.get(path)).json;
	expect(own.items.length === 1 && own.items[0].member_id === members[0].id, "a student sees their own", own);
	expect((await owner.post(path, {})).json.state === "ready", "asked again with nothing changed, nothing is begun");
	await owner.patch(`/v1/papers/${cold}`, { compare: [{ name: "pad of 12", width: "10 in", length: "14 in", sheets: 12, price_minor: 3000 },
		{ name: "postcards", width: "4 in", length: "6 in", price_minor: 10 }] }, 1);
	const pads = (await members[0].caller.get(path)).json.items[0].compared;
	/* two sheets of 5 1/2 x 7 1/2 that may turn lie on one of 10 x 14, so 3 + 1 sheets: one pad */
	expect(pads.length === 1 && pads[0].name === "pad of 12" && pads[0].packs === 1 && pads[0].cost_minor === 3000, "the same as pads", pads);
	expect((await owner.get(`/v1/papers/${cold}`)).json.compare.length === 2, "the prices are kept");
	const first = await ask(id, members[4], { paper_id: cold, count: 100, across: "9 in", along: "12 in" });
	const more = await ask(id, members[3], { paper_id: cold, count: 100, across: "9 in", along: "12 in" });
	const old = (await owner.get(path)).json;
	expect(old.state === "ready" && !old.current && old.cost_minor === e.cost_minor, "a new request makes it old", old);
	await owner.post(path, {});
	const now = await estimated(id);
	const tip = now.items.find((i) => i.member_id === members[3].id).requests.find((r) => r.request_id === more.id);
	expect(now.current && tip.rolls >= 1 && tip.proven && now.cost_minor - e.cost_minor === tip.adds_minor,
		"a second hundred sheets tips a roll, and add what the two estimates differ by", [tip, now.cost_minor, e.cost_minor]);
	await members[3].caller.delete(`/v1/requests/${more.id}`, more.version);
	await members[4].caller.delete(`/v1/requests/${first.id}`, first.version);
	expect((await owner.post(path, { x: 1 })).status === 422, "unknown members are refused");
}

/* A workshop begins with its studio's way of sharing and keeps its own. */
async function tryRules() {
	const studio = (await owner.get("/v1/studio")).json;
	expect(studio.share_policy === "order" && studio.share_ceiling && !studio.shipping_each, "a studio begins with the whole order and the ceiling", studio);
	const changed = await owner.patch("/v1/studio", { share_policy: "torn", share_ceiling: false, shipping_each: true }, studio.version);
	expect(changed.status === 200 && changed.json.share_policy === "torn", "it is changed", changed);
	const id = await open("Torn");
	const w = (await owner.get(`/v1/workshops/${id}`)).json;
	expect(w.share_policy === "torn" && !w.share_ceiling && w.shipping_each, "a workshop begins as the studio does", w);
	await owner.patch("/v1/studio", { share_policy: "order", share_ceiling: true, shipping_each: false }, changed.json.version);
	expect((await owner.get(`/v1/workshops/${id}`)).json.share_policy === "torn", "and keeps it when the studio changes");
	expect((await owner.patch(`/v1/workshops/${id}`, { share_policy: "fair" }, w.version)).status === 422, "other words are refused");
	await ask(id, members[0], { paper_id: cold, count: 4, across: "9 in", along: "12 in" });
	await owner.post(`/v1/workshops/${id}/estimate`, {});
	const e = await estimated(id);
	expect(e.ceiling === "off" && e.items[0].share_minor === e.items[0].filled_minor && e.items[0].share_minor < e.cost_minor,
		"with the roll-end kept by the studio a member pays for torn paper, come who may", e);
	const back = await owner.patch(`/v1/workshops/${id}`, { share_policy: "order", share_ceiling: true }, w.version);
	expect(back.status === 200 && back.json.share_policy === "order" && back.json.shipping_each, "what is not named stays", back);
	const whole = (await owner.get(`/v1/workshops/${id}/estimate`)).json;
	expect(whole.items[0].share_minor === whole.cost_minor && whole.ceiling === "kept", "of the whole order one alone pays all", whole);
}

async function tryWhole() {
	const id = await open("Three days");
	const sizes = [["9 in", "12 in", "1/4 in"], ["11 in", "15 in", "0 in"], ["24 cm", "32 cm", "5 mm"]];
	for (const [i, m] of members.entries()) {
		const [across, along, margin] = sizes[i % 3];
		await ask(id, m, { paper_id: i % 2 ? hot : cold, count: 3 + i, across, along, margin, turn: i % 2 === 0 });
		await ask(id, m, { paper_id: cold, count: 2, across: "5 1/2 in", along: "7 1/2 in", turn: true });
	}
	const snapped = await ask(id, members[0], { paper_id: cold, count: 1, across: "24 cm", along: "32 cm" });
	expect(snapped.snapped && snapped.torn.across.u % 508 === 0 && snapped.torn.across.u - snapped.finished.across.u < 508
		&& snapped.torn.across.u >= snapped.finished.across.u, "a torn size lies on the studio's ruler, just above", snapped);
	const spoken = (await members[0].caller.get(`/v1/workshops/${id}/spoken`)).json;
	expect(spoken.items.find((s) => s.paper_id === cold).members === 7, "a class sees how many asked", spoken);
	await tryEstimate(id);
	await owner.made(`/v1/workshops/${id}/close`, {});
	const p = await plan(id);
	expect(p.state === "ready" && p.jobs.length === 2 && p.totals.unplaced === 0 && p.check_code !== "", "each paper has its job", p);
	const sheet = await owner.get(`/v1/plans/${p.id}/sheet`);
	expect(sheet.status === 200 && sheet.text.includes("Three days") && sheet.text.includes(p.check_code) && sheet.text.includes("Member0")
		&& !sheet.text.includes("Surname"), "the tear sheet has the check code and first names only", sheet.text.slice(0, 2000));
	expect(sheet.text.includes("Thursday, 1 January 2099, 17:00 (America/New_York)") && sheet.text.includes("Friday, 2 January 2099") && sheet.text.includes("Monday, 5 January 2099"),
		"and its dates in the studio's time zone", sheet.text.slice(0, 1000));
	for (const page of ["a4", "letter"]) {
		const pdf = await owner.get(`/v1/plans/${p.id}/sheet?form=pdf&page=${page}`);
		expect(pdf.status === 200 && pdf.data.subarray(0, 5).toString() === "%PDF-" && pdf.headers["content-type"] === "application/pdf", `a PDF for ${page}`, pdf.headers);
	}
	const svg = await owner.get(`/v1/plans/${p.id}/sheet?form=svg&number=1`);
	expect(svg.status === 200 && svg.text.includes("<svg") && Number(svg.headers["sheet-pages"]) > 0, "a page as SVG", svg.headers);
	await tryForms(p.id);
	const beyond = await owner.get(`/v1/plans/${p.id}/sheet?form=svg&number=999`);
	expect(beyond.status === 404, "a page there is not", beyond);
	const layout = (await owner.get(`/v1/plans/${p.id}/layout?paper=${cold}`)).json;
	const placed = layout.plan.rolls.flatMap((r) => r.strips).flatMap((s) => s.segments).flatMap((s) => s.pieces).length;
	expect(placed === layout.problem.pieces.reduce((a, x) => a + x.count, 0) && layout.requests.length === layout.problem.pieces.length, "every piece has its place", placed);
	expect((await owner.get(`/v1/plans/${p.id}/layout`)).status === 422, "of two papers one is named");
	expect((await owner.get(`/v1/plans/${p.id}/layout?paper=99999`)).status === 404, "a paper that is not in the plan");
	expect((await members[0].caller.get(`/v1/plans/${p.id}`)).status === 404, "a student sees no plan that is not accepted");
	const accepted = await owner.made(`/v1/plans/${p.id}/accept`, {});
	expect(accepted.state === "accepted" && accepted.accepted_at !== null, "it is accepted", accepted);
	expect((await members[0].caller.get(`/v1/plans/${p.id}`)).status === 200, "and then a student sees it");
	expect((await owner.post(`/v1/plans/${p.id}/accept`, {})).status === 409, "once");
	const prices = Object.fromEntries((await owner.get(`/v1/workshops/${id}/shares`)).json.papers.map((x) => [x.paper_id, x.cost_minor]));
	await checkShares(id, prices);
	await tryMoney(id, prices);
	return id;
}

async function tryMoney(id, prices) {
	const books = async () => expect((await owner.get("/v1/reconciliation")).json.items.length === 0, "the books agree");
	const settle = (invoices) => owner.post(`/v1/workshops/${id}/settlements`, { invoices });
	let s = await settle([{ paper_id: cold, amount_minor: prices[cold] + 749 }]);
	expect(s.status === 201 && s.json.number === 1 && s.json.charged_minor === prices[cold] + 749 + prices[hot], "the invoice of one paper; the other keeps its price", s);
	let shares = await checkShares(id, { [cold]: prices[cold] + 749, [hot]: prices[hot] });
	expect(shares.items.every((i) => i.charged_minor === i.share_minor && i.balance_minor === i.share_minor), "each is charged their share", shares);
	await books();
	expect((await settle([{ paper_id: cold, amount_minor: prices[cold] + 749 }])).status === 409, "the same invoices again change nothing");
	s = await settle([{ paper_id: hot, amount_minor: prices[hot] - 1001 }]);
	expect(s.status === 201 && s.json.number === 2 && s.json.charged_minor === -1001 && s.json.parts.length === 2, "a credit is a difference", s);
	shares = await checkShares(id, { [cold]: prices[cold] + 749, [hot]: prices[hot] - 1001 });
	expect(shares.items.every((i) => i.charged_minor === i.share_minor), "and each is charged their share of it", shares);
	const entries = (await owner.get(`/v1/workshops/${id}/payments?limit=100`)).json.items;
	expect(entries.some((e) => e.kind === "adjustment" && e.amount_minor < 0 && e.reason.includes("instead of")), "with a reason that names both totals", entries);
	await books();
	for (const bad of [[{ paper_id: 99999, amount_minor: 1 }], [{ paper_id: cold, amount_minor: -1 }],
			[{ paper_id: cold, amount_minor: 1 }, { paper_id: cold, amount_minor: 1 }]])
		expect((await settle(bad)).status === 422, "an invoice that is none", bad);
	const m = members[1], due = shares.items.find((i) => i.member_id === m.id).share_minor;
	const paid = await owner.made(`/v1/workshops/${id}/payments`, { member_id: m.id, amount_minor: due + 100, method: "cash", reference: "1", paid_on: "2099-01-06" });
	const reversed = await owner.post(`/v1/payments/${paid.id}/reverse`, { reason: "counted wrong" });
	expect(reversed.status === 201 && reversed.json.amount_minor === -(due + 100) && reversed.json.reverses_id === paid.id, "a payment is reversed by an entry", reversed);
	expect((await owner.post(`/v1/payments/${paid.id}/reverse`, { reason: "again" })).status === 409, "once");
	expect((await owner.post(`/v1/payments/${reversed.json.id}/reverse`, { reason: "again" })).status === 404, "a reversal is no payment");
	expect((await owner.post(`/v1/payments/${entries[0].id}/reverse`, { reason: "no" })).status === 404, "nor is a charge");
	await owner.made(`/v1/workshops/${id}/payments`, { member_id: m.id, amount_minor: due });
	const statement = (await m.caller.get(`/v1/members/${m.id}/statement?workshop=${id}`)).json;
	expect(statement.balance_minor === 0 && statement.share.share_minor === due && statement.payments.length === 3 && statement.charges.length === 2
		&& statement.requests.length === 2 && statement.paid_minor === due, "the statement says so", statement);
	const row = (await owner.get(`/v1/workshops/${id}/shares`)).json.items.find((i) => i.member_id === m.id);
	expect(row.balance_minor === statement.balance_minor && row.share_minor === statement.share.share_minor, "shares and statement agree to the cent", [row, statement]);
	await books();
	const before = (await owner.get(`/v1/stock?paper=${cold}&limit=100`)).json.items.length;
	const torn = await owner.made(`/v1/workshops/${id}/torn`, {});
	expect(torn.state === "settled", "torn after it was settled, it is settled", torn);
	const shelved = (await owner.get(`/v1/stock?paper=${cold}&limit=100`)).json.items.slice(before);
	const stock = shelved.filter((t) => t.kind === "roll-end");
	const layout = (await owner.get(`/v1/plans/${torn.accepted_plan_id}/layout?paper=${cold}`)).json;
	const left = layout.plan.rolls.map((r) => r.length - Math.max(...r.strips.map((t) => t.at + t.height))).filter((l) => l >= 48768);
	expect(JSON.stringify(stock.map((t) => t.length.u)) === JSON.stringify(left) && stock.every((t) => t.kind === "roll-end" && t.available === 1
		&& t.price_minor === 0 && t.from_plan_id === torn.accepted_plan_id), "what is left on the rolls is stock", [stock, left]);
	const printed = (await owner.get(`/v1/plans/${torn.accepted_plan_id}/sheet?form=json`)).json.shelf;
	const papers = (await owner.get("/v1/stock?limit=100")).json.items.filter((t) => t.from_plan_id === torn.accepted_plan_id);
	expect(printed.length > 0 && printed.length === papers.length && printed.every((k) => papers.some((t) => t.shelf_code === k.code
		&& t.available === k.count && t.width.u === k.across_u && t.length.u === k.along_u && t.kind === (k.first_strip ? "offcut" : "roll-end"))),
		"each code of the sheet is written on a row of the shelf", [printed, papers]);
	expect((await owner.post(`/v1/workshops/${id}/reopen`, {})).status === 409, "paper that is torn stays torn");
	expect((await owner.post(`/v1/workshops/${id}/torn`, {})).status === 409, "and is torn once");
}

/* What the studio says once, what is asked for this once, and whose name is printed how far. */
async function tryForms(plan) {
	const sheet = (query) => owner.get(`/v1/plans/${plan}/sheet?${query}`);
	const german = await sheet("form=text&language=de");
	expect(german.text.includes("REISSBLATT") && german.text.includes("Donnerstag, 1. Januar 2099"), "in German for this once", german.text.slice(0, 400));
	const json = (await sheet("form=json")).json;
	expect(json.language === "en" && json.rolls.length > 0 && json.measure.length > 0 && json.hands.length > 0, "as JSON", json);
	const html = await sheet("form=html&language=de");
	expect(html.headers["content-type"].startsWith("text/html") && html.text.startsWith("<!DOCTYPE html>") && html.text.includes('<html lang="de">')
		&& !html.text.includes("<script") && !/(src|href)="http/.test(html.text), "as a page that needs nothing else", html.text.slice(0, 300));
	for (const query of ["form=labels", "form=labels&page=letter&skip=29", "form=pdf&large=yes",
			`form=labels&grid=${encodeURIComponent("a4; 2 x 7; 99.1 x 38.1 mm; 4.7 x 15.1 mm; 101.6 x 38.1 mm")}`]) {
		const pdf = await sheet(query);
		expect(pdf.status === 200 && pdf.headers["content-type"] === "application/pdf" && pdf.text.startsWith("%PDF"), query, pdf.status);
	}
	for (const [query, says] of [["form=png", "form"], ["language=xx", "language"], ["large=maybe", "large"], ["page=a3", "page"], ["colour=red", "colour"],
			["form=labels&grid=3x7", "grid"], ["form=labels&skip=21", "skip"],
			[`form=labels&grid=${encodeURIComponent("a4; 9 x 9; 63.5 x 38.1 mm; 0 x 0 mm; 66 x 38.1 mm")}`, "do not fit the page"]]) {
		const refused = await sheet(query);
		expect((refused.status === 422 || refused.status === 400) && refused.text.includes(says), `${query} is refused`, [refused.status, refused.text]);
	}
	const change = async (to) => {
		const now = (await owner.get("/v1/studio")).json;
		const changed = await owner.patch("/v1/studio", to, now.version);
		return changed;
	};
	const guarded = (await owner.get(`/v1/members/${members[1].id}`)).json;
	await owner.patch(`/v1/members/${members[1].id}`, { guardian: true }, guarded.version);
	for (const [names, child, grown] of [["none", "Member1", "Member0"], ["adults", "Member1", "Member0 Surname"], ["all", "Member1 Surname", "Member0 Surname"]]) {
		expect((await change({ full_names: names })).status === 200, `names of ${names} in full`);
		const hands = (await sheet("form=json")).json.hands.map((h) => h.name);
		expect(hands.includes(child) && hands.includes(grown), `${names}: a child's name is not printed in full unless the studio says so`, hands);
	}
	expect((await change({ names_on_sheets: false })).status === 200 && (await sheet("form=json")).json.hands.every((h) => h.name === null), "or no name at all");
	for (const wrong of [{ language: "xx" }, { pull: "up" }, { sheet_page: "a3" }, { full_names: "some" }, { label_grid: "a4; 3 x 7" }])
		expect((await change(wrong)).status === 422, `${JSON.stringify(wrong)} is refused`);
	expect((await change({ language: "de", both_measures: true, pull: "far", rules: "nobody alone at the table", sheet_page: "letter",
		label_grid: "letter; 2 x 5; 4 x 2 in; 1/8 x 1/2 in; 4 1/8 x 2 in" })).status === 200, "the studio has its own ways");
	const own = (await sheet("form=text")).text;
	expect(own.includes("REISSBLATT") && own.includes("nobody alone at the table") && own.includes("diesseits der Marken")
		&& /= \d+,\d mm/.test(own), "and every sheet follows them", own.slice(0, 3000));
	expect((await change({ language: "en", both_measures: false, pull: "near", rules: "", sheet_page: "a4", label_grid: "", full_names: "none",
		names_on_sheets: true })).status === 200, "and back");
}

/* A plan is of its requests: changed ones make it old. */
async function tryOld() {
	const id = await open("Changed minds");
	const r = await ask(id, members[0], { paper_id: cold, count: 2, across: "9 in", along: "12 in" });
	await owner.made(`/v1/workshops/${id}/close`, {});
	const first = await plan(id);
	await owner.made(`/v1/workshops/${id}/reopen`, { closes_at: "2099-01-02T00:00:00Z" });
	expect((await members[0].caller.patch(`/v1/requests/${r.id}`, { count: 3 }, r.version)).status === 200, "reopened, requests change");
	await owner.made(`/v1/workshops/${id}/close`, {});
	const old = await owner.post(`/v1/plans/${first.id}/accept`, {});
	expect(old.status === 409 && old.json.detail.includes("have changed"), "the old plan is refused", old);
	const second = await plan(id);
	await owner.made(`/v1/plans/${second.id}/accept`, {});
	const third = await plan(id);
	const w = await owner.made(`/v1/plans/${third.id}/accept`, {});
	expect(w.state === "accepted", "another plan may be accepted before the paper is torn", w);
	expect((await owner.get(`/v1/plans/${second.id}`)).json.state === "superseded", "and supersedes the first");
	expect((await owner.get(`/v1/plans/${second.id}/sheet`)).text.length > 100, "whose sheet can still be printed");
	await owner.made(`/v1/workshops/${id}/reopen`, {});
	expect((await owner.get(`/v1/plans/${third.id}`)).json.state === "superseded", "opened again, no plan is accepted");
	expect((await owner.get(`/v1/workshops/${id}/shares`)).status === 409, "and there are no shares");
}

/* Limited stock leaves the shelf with the plan, comes back with its end, and is nobody's twice. */
async function tryLimited() {
	const paper = (await owner.made("/v1/papers", { name: "Rare", weight_gsm: 640, finish: "rough" })).id;
	const end = await owner.made("/v1/stock", { paper_id: paper, kind: "roll-end", name: "the last of it", width: "45 in", length: "30 in",
		price_minor: 0, spoiled: [["20 in", "21 in"]] });
	const ids = [];
	for (const name of ["First", "Second"]) {
		const w = await owner.made("/v1/workshops", { name, closes_at: "2099-01-01T22:00:00Z", starts_on: "2099-01-05", papers: [paper] });
		await owner.made(`/v1/workshops/${w.id}/members`, { member_id: members[0].id });
		await ask(w.id, members[0], { paper_id: paper, count: 1, across: "9 in", along: "12 in" });
		await owner.made(`/v1/workshops/${w.id}/close`, {});
		ids.push(w.id);
	}
	const plans = [await plan(ids[0]), await plan(ids[1])];
	const available = async () => (await owner.get(`/v1/stock/${end.id}`)).json.available;
	await owner.made(`/v1/plans/${plans[0].id}/accept`, {});
	expect(await available() === 0, "accepted, the roll-end is taken");
	const second = await owner.post(`/v1/plans/${plans[1].id}/accept`, {});
	expect(second.status === 409 && second.json.detail.includes("the last of it"), "another plan cannot have it", second);
	await owner.made(`/v1/workshops/${ids[0]}/reopen`, {});
	expect(await available() === 1, "opened again, it is back");
	await owner.made(`/v1/plans/${plans[1].id}/accept`, {});
	await owner.made(`/v1/workshops/${ids[1]}/torn`, {});
	const left = (await owner.get(`/v1/stock?paper=${paper}`)).json.items.filter((t) => t.from_plan_id === plans[1].id && t.kind === "roll-end");
	expect(left.length === 1 && left[0].length.text === "18 in" && left[0].spoiled[0][0].text === "8 in" && left[0].spoiled[0][1].text === "9 in",
		"what is left of it is measured from its new end, spoiled runs too", left);
	const w = await owner.made("/v1/workshops", { name: "Third", closes_at: "2099-01-01T22:00:00Z", starts_on: "2099-01-05", papers: [paper] });
	await owner.made(`/v1/workshops/${w.id}/members`, { member_id: members[0].id });
	await ask(w.id, members[0], { paper_id: paper, count: 9, across: "22 in", along: "8 in" });
	await owner.made(`/v1/workshops/${w.id}/close`, {});
	const short = await plan(w.id);
	expect(short.totals.unplaced > 0, "too little paper leaves sheets without a place", short.totals);
	expect((await owner.post(`/v1/plans/${short.id}/accept`, {})).status === 409, "and is not accepted");
}

async function tryAtOnce() {
	const id = await open("All at once");
	await ask(id, members[0], { paper_id: cold, count: 1, across: "9 in", along: "12 in" });
	const answers = await Promise.all([
		...Array.from({ length: 16 }, () => owner.post(`/v1/workshops/${id}/close`, {})),
		...members.flatMap((m) => [1, 2, 3].map((n) => m.caller.post(`/v1/workshops/${id}/requests`, { paper_id: cold, count: n, across: "9 in", along: "12 in" })))]);
	const closings = answers.slice(0, 16).map((a) => a.status), asked = answers.slice(16);
	expect(closings.filter((s) => s === 200).length === 1 && closings.filter((s) => s === 409).length === 15, "of sixteen closings one wins", closings);
	expect(asked.every((a) => a.status === 201 || a.status === 409), "a request is in time or refused", asked.map((a) => a.status));
	const p = await plan(id);
	const layout = (await owner.get(`/v1/plans/${p.id}/layout`)).json;
	for (const a of asked.filter((x) => x.status === 201))
		expect(layout.requests.includes(a.json.id), "what was acknowledged is planned", a.json.id);
	expect(layout.requests.length === asked.filter((x) => x.status === 201).length + 1, "and nothing else", layout.requests);
	const accepts = (await Promise.all(Array.from({ length: 8 }, () => owner.post(`/v1/plans/${p.id}/accept`, {})))).map((a) => a.status);
	expect(accepts.filter((s) => s === 200).length === 1 && accepts.filter((s) => s === 409).length === 7, "of eight acceptances one wins", accepts);
	const settled = (await Promise.all(Array.from({ length: 16 }, () => owner.post(`/v1/workshops/${id}/settlements`,
		{ invoices: [{ paper_id: cold, amount_minor: 12345 }] })))).map((a) => a.status);
	expect(settled.filter((s) => s === 201).length === 1 && settled.filter((s) => s === 409).length === 15, "of sixteen settlements one wins", settled);
	const paid = await owner.made(`/v1/workshops/${id}/payments`, { member_id: members[0].id, amount_minor: 77 });
	const reversals = (await Promise.all(Array.from({ length: 8 }, () => owner.post(`/v1/payments/${paid.id}/reverse`, { reason: "r" })))).map((a) => a.status);
	expect(reversals.filter((s) => s === 201).length === 1 && reversals.filter((s) => s === 409).length === 7, "a payment is reversed once", reversals);
	const joins = await owner.made("/v1/workshops", { name: "Joins", closes_at: "2099-01-01T00:00:00Z", starts_on: "2099-01-05", papers: [cold] });
	const invitation = await owner.made(`/v1/workshops/${joins.id}/invitations`, { uses_max: 5 });
	const joined = (await Promise.all(Array.from({ length: 16 }, (_, n) => server.caller(null).post("/v1/join", { code: invitation.code, name: `J${n}` }))));
	expect(joined.filter((a) => a.status === 201).length === 5 && joined.filter((a) => a.status === 404).length === 11, "an invitation for five lets five in", joined.map((a) => a.status === 409 ? a.text : a.status));
	expect((await owner.get("/v1/reconciliation")).json.items.length === 0, "the books agree");
}

/* What happened is told in order, and nothing of it is a secret. */
async function tryEvents(id) {
	const events = (await owner.get(`/v1/events?workshop=${id}&limit=100`)).json.items;
	const kinds = events.map((e) => e.kind);
	for (const kind of ["workshop-added", "member-joined", "request-added", "workshop-closed", "plan-added", "plan-accepted", "workshop-settled",
			"payment-added", "payment-reversed", "workshop-torn"])
		expect(kinds.includes(kind), `${kind} was noted`, kinds);
	expect(events.every((e, i) => i === 0 || e.id > events[i - 1].id) && events.every((e) => e.workshop_id === id), "in order, of this workshop");
	expect((await owner.get("/v1/events?workshop=99999")).status === 404, "of a workshop there is not");
}

try {
	server = await startServer();
	await fill();
	await tryRules();
	const id = await tryWhole();
	await tryOld();
	await tryLimited();
	await tryAtOnce();
	await tryEvents(id);
} finally {
	await finish(server);
}
