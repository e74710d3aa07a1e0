#!/usr/bin/env node
// SPDX-License-Identifier: MIT
/*
 * The books of a workshop through the API: invoices line by line, settled, replaced and withdrawn,
 * payments in parts, too much, given back, carried, moved, forgiven and put right.  After every
 * step the reconciliation is asked, and the accounts are added up here again: double entry means
 * that debits and credits of everything are equal (Pacioli, "Summa de arithmetica", 1494).
 */
import { startServer, finish, expect, planned } from "./api.mjs";
import { Visitor } from "./browser.mjs";

let server = null, owner = null, cold = 0, hot = 0, id = 0, next = 0;
const members = [];

async function fill() {
	owner = server.caller(server.ready.owner1);
	const me = (await owner.get("/v1/me")).json.member;
	await owner.patch(`/v1/members/${me.id}`, { roles: ["owner", "instructor", "treasurer"] }, me.version);
	cold = (await owner.made("/v1/papers", { name: "Cold press 300", weight_gsm: 300, finish: "cold press" })).id;
	hot = (await owner.made("/v1/papers", { name: "Hot press 300", weight_gsm: 300, finish: "hot press" })).id;
	await owner.made("/v1/stock", { paper_id: cold, kind: "fresh", name: "45 in roll", width: "45 in", length: "10 yd", price_minor: 19200 });
	await owner.made("/v1/stock", { paper_id: hot, kind: "fresh", name: "51 in roll", width: "51 in", length: "10 yd", price_minor: 21700 });
	for (const name of ["Ada", "Bo", "Cy"])
		members.push((await owner.made("/v1/members", { name })).id);
}

async function open(name, policy) {
	const w = await owner.made("/v1/workshops", { name, closes_at: "2099-01-01T22:00:00Z", starts_on: "2099-01-05",
		papers: [cold, hot], share_policy: policy, share_ceiling: false });
	for (const m of members)
		await owner.made(`/v1/workshops/${w.id}/members`, { member_id: m });
	return w.id;
}

/* Three equal members of cold press, one of hot press as well; planned and accepted. */
async function accept(workshop) {
	for (const m of members)
		await owner.made(`/v1/workshops/${workshop}/requests`, { member_id: m, paper_id: cold, count: 4, across: "9 in", along: "12 in" });
	await owner.made(`/v1/workshops/${workshop}/requests`, { member_id: members[0], paper_id: hot, count: 2, across: "9 in", along: "12 in" });
	await owner.made(`/v1/workshops/${workshop}/close`, {});
	const plan = await planned(owner, (await owner.made(`/v1/workshops/${workshop}/plans`, {})).id);
	await owner.made(`/v1/plans/${plan.id}/accept`, {});
}

/* The accounts of one workshop, each once; debits and credits of all of them. */
async function accounts(workshop) {
	const items = (await owner.get(`/v1/workshops/${workshop}/account`)).json.items;
	const of = (account, member) => items.find((i) => i.account === account && (member === undefined || i.member_id === member))?.balance_minor ?? 0;
	return { items, of, sum: items.reduce((a, i) => a + i.balance_minor, 0) };
}

async function agree(step) {
	const found = (await owner.get("/v1/reconciliation")).json.items;
	expect(found.length === 0, `the books agree after ${step}`, found);
	const sums = await Promise.all([id, next].filter((w) => w).map(async (w) => (await accounts(w)).sum));
	expect(sums.reduce((a, b) => a + b, 0) === 0, `debits are credits after ${step}`, sums);
}

async function balance(workshop, member) {
	return (await owner.get(`/v1/workshops/${workshop}/shares`)).json.items.find((i) => i.member_id === member).balance_minor;
}

const enter = (body) => owner.post(`/v1/workshops/${id}/invoices`, body);
const settle = (invoices = []) => owner.post(`/v1/workshops/${id}/settlements`, { invoices });
const book = (body, workshop = id) => owner.post(`/v1/workshops/${workshop}/bookings`, body);
const pay = (body, workshop = id) => owner.post(`/v1/workshops/${workshop}/payments`, body);

/* 2 x 192.00, 217.00, shipping 24.50, tax 8.875 % of 601.00 (53.34, as its supplier rounded it), 5 % off the rolls. */
function invoice(more) {
	return { number: "R-17", supplier: "Mill", dated_on: "2098-12-30", total_minor: 60100 + 2450 + 5334 - 3005,
		lines: [
			{ kind: "rolls", paper_id: cold, count: 2, unit_minor: 19200 },
			{ kind: "rolls", paper_id: hot, count: 1, unit_minor: 21700, amount_minor: 21700, description: "51 in, \"bright\" \\ white" },
			{ kind: "shipping", amount_minor: 2450 },
			{ kind: "tax", amount_minor: 5334, tax_percent: "8.875", tax_base_minor: 60100 },
			{ kind: "discount", amount_minor: -3005, description: "5 %" },
		], ...more };
}

async function tryInvoices() {
	const bad = await enter(invoice({ total_minor: 64880 }));
	expect(bad.status === 422 && bad.json.errors[0].pointer === "/total_minor" && bad.text.includes("648.79") && bad.text.includes("648.80"),
		"lines and total that differ are refused with both figures", bad);
	const lines = invoice().lines;
	for (const [line, pointer] of [
		[{ kind: "rolls", amount_minor: 100 }, "/lines/0/paper_id"],
		[{ kind: "rolls", paper_id: 999, amount_minor: 100 }, "/lines/0/paper_id"],
		[{ kind: "rolls", paper_id: cold, count: 3, unit_minor: 7, amount_minor: 20 }, "/lines/0/amount_minor"],
		[{ kind: "discount", amount_minor: 100 }, "/lines/0/amount_minor"],
		[{ kind: "tax", amount_minor: 100, tax_percent: "8,875" }, "/lines/0/tax_percent"],
		[{ kind: "other", amount_minor: 100, tax_percent: "8" }, "/lines/0/tax_percent"],
		[{ kind: "gift", amount_minor: 100 }, "/lines/0/kind"],
		[{ kind: "other", amount_minor: 100000000001 }, "/lines/0/amount_minor"],
	]) {
		const answer = await enter({ total_minor: 100, lines: [line] });
		expect(answer.status === 422 && answer.json.errors[0].pointer === pointer, `a bad line is refused: ${JSON.stringify(line)}`, answer);
	}
	expect((await enter({ total_minor: 0, lines: [] })).status === 422, "an invoice has lines");
	const made = await enter(invoice());
	expect(made.status === 201 && made.json.lines.length === 5 && made.json.lines[1].description === lines[1].description
		&& made.json.lines[3].tax_percent === "8.875" && made.json.lines[0].amount_minor === 38400, "what is entered is what is read", made);
	await agree("an invoice");
	const a = await accounts(id);
	expect(a.of("cost") === 64879 && a.of("supplier") === -64879, "an invoice is a cost, and owed to the supplier", a.items);
	const again = await enter(invoice());
	expect(again.status === 409 && again.text.includes(`invoice ${made.json.id}`), "the same invoice again is refused, naming the first", again);
	return made.json;
}

/* Shipping, tax and discount are of the whole order: by the area of both papers. */
async function trySettling(first) {
	const s = await settle();
	expect(s.status === 201 && s.json.charged_minor === 64879 && s.json.estimated_minor === 0 && JSON.stringify(s.json.invoices) === `[${first.id}]`,
		"settling charges the invoice", s);
	await agree("settling");
	expect((await accounts(id)).of("cost") === 0, "and nothing is left uncharged");
	expect((await settle()).status === 409, "once");
	expect((await settle([{ paper_id: cold, amount_minor: 5 }])).status === 422, "an amount for a paper that is on a line is refused");
	const replaced = await owner.post(`/v1/invoices/${first.id}/replace`, { ...invoice({ total_minor: 64479 }), reason: "credit for a torn wrapper",
		lines: [...invoice().lines, { kind: "other", amount_minor: -400, description: "wrapper" }] });
	expect(replaced.status === 201 && replaced.json.replaces_id === first.id, "an invoice is replaced by another", replaced);
	await agree("replacing an invoice");
	expect((await owner.post(`/v1/invoices/${first.id}/replace`, { ...invoice(), reason: "late" })).status === 409, "the old one cannot be replaced again");
	const before = (await owner.get(`/v1/workshops/${id}/payments?limit=100`)).json.items;
	const t = await settle();
	expect(t.status === 201 && t.json.number === 2 && t.json.charged_minor === -400, "the difference is credited", t);
	const after = (await owner.get(`/v1/workshops/${id}/payments?limit=100`)).json.items;
	expect(before.every((e, i) => JSON.stringify(e) === JSON.stringify(after[i])) && after.slice(before.length).every((e) => e.kind === "adjustment"),
		"old entries stay as they are, adjustments are added", after);
	await agree("an adjustment");
	const extra = await enter({ number: "R-18", supplier: "Carrier", total_minor: 1000, tax_included: true, advanced_by: members[2],
		lines: [{ kind: "shipping", amount_minor: 1000 }, { kind: "tax", amount_minor: 167, tax_percent: "20", tax_base_minor: 833 }] });
	expect(extra.status === 201, "tax that is included is told and not added", extra);
	expect((await accounts(id)).of("payee", members[2]) === -1000, "who advanced the money is owed it");
	await settle();
	await agree("a second invoice");
	const gone = await owner.post(`/v1/invoices/${extra.json.id}/withdraw`, { reason: "of another order" });
	expect(gone.status === 201 && gone.json.withdrawn, "an invoice is withdrawn", gone);
	expect((await owner.post(`/v1/invoices/${extra.json.id}/withdraw`, { reason: "again" })).status === 409, "once");
	await agree("withdrawing");
	expect((await settle()).json.charged_minor === -1000, "and credited");
	await agree("crediting it");
	const list = (await owner.get(`/v1/workshops/${id}/invoices`)).json.items;
	expect(list.length === 4 && list.filter((i) => i.replaced_by_id === null && !i.withdrawn).length === 1, "all stay to be read", list);
}

async function tryPayments() {
	const [ada, bo, cy] = members;
	const due = await balance(id, bo);
	const first = await pay({ member_id: bo, amount_minor: 5000, bank_reference: "2099-01-02/3", method: "transfer", payer_id: ada });
	expect(first.status === 201 && first.json.payer_id === ada && first.json.bank_reference === "2099-01-02/3", "a payment in part, by another", first);
	const twice = await pay({ member_id: cy, amount_minor: 5000, bank_reference: "2099-01-02/3" });
	expect(twice.status === 409 && twice.text.includes(`booking ${first.json.booking_id}`), "a line of the bank is booked once", twice);
	expect(await balance(id, bo) === due - 5000, "and the rest is still owed");
	await agree("a payment in part");
	await pay({ member_id: bo, amount_minor: due - 5000 + 700 });
	expect(await balance(id, bo) === -700, "what is paid too much is a credit");
	const much = await book({ kind: "refund", member_id: bo, amount_minor: 701, reason: "too much" });
	expect(much.status === 409 && much.text.includes("7.00"), "no more is given back than there is", much);
	expect((await book({ kind: "carry", member_id: bo, amount_minor: 701, to_workshop_id: next, reason: "next" })).status === 409, "or carried");
	const back = await book({ kind: "refund", member_id: bo, amount_minor: 200, reason: "too much", method: "cash" });
	expect(back.status === 201 && back.json.kind === "refund" && back.json.amount_minor === -200, "some is given back", back);
	await agree("a refund");
	const carried = await book({ kind: "carry", member_id: bo, amount_minor: 500, to_workshop_id: next, reason: "next time" });
	expect(carried.status === 201 && await balance(id, bo) === 0, "the rest is carried", carried);
	const there = (await owner.get(`/v1/workshops/${next}/payments`)).json.items;
	expect(there.length === 1 && there[0].kind === "carry" && there[0].amount_minor === 500, "to the next workshop", there);
	await agree("carrying a credit");
	expect((await book({ kind: "carry", member_id: bo, amount_minor: 1, to_workshop_id: 999999, reason: "x" })).status >= 400, "to one that is there");
	const owed = await balance(id, ada);
	const moved = await book({ kind: "transfer", member_id: cy, to_member_id: ada, amount_minor: 300, reason: "shared a sheet" });
	expect(moved.status === 201 && await balance(id, ada) === owed - 300, "a part is moved between members", moved);
	await agree("a transfer");
	expect((await book({ kind: "transfer", member_id: cy, to_member_id: cy, amount_minor: 300, reason: "x" })).status === 422, "not to oneself");
	expect((await book({ kind: "write-off", member_id: ada, amount_minor: owed, reason: "x" })).status === 409, "no more is forgiven than is owed");
	const forgiven = await book({ kind: "write-off", member_id: ada, amount_minor: 33, reason: "coins that are not there" });
	expect(forgiven.status === 201 && (await accounts(id)).of("write-off") === 33, "cents are written off", forgiven);
	await agree("a write-off");
	const right = await book({ kind: "correction", member_id: ada, amount_minor: -100, reason: "a stained sheet" });
	expect(right.status === 201 && await balance(id, ada) === owed - 433, "and put right", right);
	expect((await book({ kind: "write-off", member_id: ada, amount_minor: 1 })).status === 422, "with a reason");
	await agree("a correction");
	for (const entry of [first, back, carried, moved, forgiven, right]) {
		const was = await balance(id, entry.json.member_id);
		const r = await owner.post(`/v1/payments/${entry.json.id}/reverse`, { reason: "a slip" });
		expect(r.status === 201 && r.json.reverses_id === entry.json.id && r.json.amount_minor === -entry.json.amount_minor
			&& await balance(id, entry.json.member_id) === was + entry.json.amount_minor, `a ${entry.json.kind} is reversed`, r);
		expect((await owner.post(`/v1/payments/${entry.json.id}/reverse`, { reason: "a slip" })).status === 409, "once");
		await agree(`reversing a ${entry.json.kind}`);
	}
	const retry = await pay({ member_id: cy, amount_minor: 5000, bank_reference: "2099-01-02/3", payee_id: ada });
	expect(retry.status === 201 && retry.json.payee_id === ada, "after that the line of the bank is free again", retry);
	expect((await accounts(id)).of("payee", ada) === 5000, "it came in at who advanced the money");
	const charge = (await owner.get(`/v1/workshops/${id}/payments`)).json.items.find((e) => e.kind === "charge");
	expect((await owner.post(`/v1/payments/${charge.id}/reverse`, { reason: "no" })).status === 404, "what was settled is not reversed, it is settled again");
	await agree("all of it");
}

async function shelf() {
	const items = (await owner.get("/v1/stock?limit=100")).json.items.filter((s) => s.active && s.kind !== "fresh");
	return items.reduce((a, s) => a + s.available * s.price_minor, 0);
}

/* The studio keeps the roll-ends at cost: what members are let off lies on the shelf, and whoever
 * uses an end later pays for it. */
async function tryShelf() {
	const end = await owner.made("/v1/stock", { paper_id: hot, kind: "roll-end", name: "found behind the door", width: "51 in",
		length: "4 ft", price_minor: 3000, available: 1 });
	await agree("a roll-end put on the shelf");
	expect((await owner.patch(`/v1/stock/${end.id}`, { price_minor: 2500 }, end.version)).status === 200, "and marked down");
	await agree("marking it down");
	const currency = await owner.patch("/v1/studio", { currency: "EUR" }, (await owner.get("/v1/studio")).json.version);
	expect(currency.status === 409, "what has a value has it in one currency", currency);
	id = await open("Kept", "torn");
	await accept(id);
	const used = (await accounts(id)).of("cost");
	const takes = used === 2500;
	await agree("accepting a plan");
	const priced = (await owner.get("/v1/stock?limit=100")).json.items.find((s) => s.id === end.id);
	expect((await owner.patch(`/v1/stock/${end.id}`, { price_minor: 1 }, priced.version)).status === (takes ? 409 : 200),
		"what is taken keeps its price till the paper is torn");
	const shares = (await owner.get(`/v1/workshops/${id}/shares`)).json;
	expect(shares.policy === "torn" && shares.kept_minor > 0 && shares.used_minor === used, "members are let off the ends", shares);
	const before = await shelf();
	await owner.made(`/v1/workshops/${id}/torn`, {});
	await agree("tearing");
	expect(await shelf() - before === shares.kept_minor, "which lie on the shelf at what they were let off", [before, await shelf(), shares.kept_minor]);
	const made = await enter({ number: "R-20", total_minor: shares.estimated_minor + 1234, lines: [
		{ kind: "rolls", paper_id: cold, amount_minor: 20434 },
		...(shares.estimated_minor > 19200 ? [{ kind: "rolls", paper_id: hot, amount_minor: shares.estimated_minor - 19200 }] : [])] });
	expect(made.status === 201, "the invoice is dearer", made);
	const s = await settle();
	expect(s.status === 201 && s.json.kept_minor > shares.kept_minor && s.json.charged_minor === s.json.invoice_minor + s.json.used_minor - s.json.kept_minor,
		"what is kept follows the invoice", s);
	const a = await accounts(id);
	expect(a.of("cost") === 0 && a.of("write-off") === s.json.kept_minor - shares.kept_minor, "the studio bears the difference, the shelf keeps its value", a.items);
	await agree("settling what was torn");
	next = id;
	id = await open("Using", "order");
	await owner.made(`/v1/workshops/${id}/requests`, { member_id: members[1], paper_id: cold, count: 1, across: "30 in", along: "40 in" });
	await owner.made(`/v1/workshops/${id}/close`, {});
	const plan = await planned(owner, (await owner.made(`/v1/workshops/${id}/plans`, {})).id);
	await owner.made(`/v1/plans/${plan.id}/accept`, {});
	const u = (await owner.get(`/v1/workshops/${id}/shares`)).json;
	expect(u.used_minor > 0 && u.estimated_minor === 0 && u.sum_minor === u.used_minor, "who uses an end pays its value", u);
	await agree("using an end");
	await owner.made(`/v1/workshops/${id}/reopen`, { closes_at: "2099-01-01T22:00:00Z" });
	expect((await accounts(id)).of("cost") === 0, "and given back it is back");
	await agree("giving it back");
}

/* The example of docs/books.md: estimated at 192.00, invoiced at 200.01, one pays. */
async function tryByHand() {
	const [a, b] = members;
	const w = await owner.made("/v1/workshops", { name: "By hand", closes_at: "2099-01-01T22:00:00Z", starts_on: "2099-01-05",
		papers: [cold], share_ceiling: false });
	id = w.id;
	for (const m of [a, b]) {
		await owner.made(`/v1/workshops/${id}/members`, { member_id: m });
		await owner.made(`/v1/workshops/${id}/requests`, { member_id: m, paper_id: cold, count: 14, across: "22 in", along: "30 in" });
	}
	await owner.made(`/v1/workshops/${id}/close`, {});
	const plan = await planned(owner, (await owner.made(`/v1/workshops/${id}/plans`, {})).id);
	await owner.made(`/v1/plans/${plan.id}/accept`, {});
	const estimate = (await owner.get(`/v1/workshops/${id}/shares`)).json.estimated_minor;
	const legs = async () => {
		const { of } = await accounts(id);
		return [of("member", a), of("member", b), of("cost"), of("supplier"), of("payee", null)];
	};
	const used = (await accounts(id)).of("cost"); // of roll-ends that lie there from before
	await settle();
	const half = (estimate + used) / 2;
	expect(JSON.stringify(await legs()) === JSON.stringify([half, half, -estimate, 0, 0]), "estimates are charged before the invoice comes", await legs());
	await enter({ total_minor: estimate + 801, lines: [{ kind: "rolls", paper_id: cold, amount_minor: estimate }, { kind: "shipping", amount_minor: 801 }] });
	expect((await legs())[2] === 801 && (await legs())[3] === -estimate - 801, "the invoice is a cost", await legs());
	await settle();
	const now = await legs();
	expect([now[0] - half, now[1] - half].sort().join() === "400,401" && now[2] === 0, "8.01 more is 4.01 and 4.00", now);
	await pay({ member_id: a, amount_minor: now[0] });
	expect(JSON.stringify(await legs()) === JSON.stringify([0, now[1], 0, -estimate - 801, now[0]]), "and what is paid is paid", await legs());
	await agree("the example by hand");
}

/* The same by the forms of the pages. */
async function tryPages() {
	const treasurer = new Visitor(server);
	await treasurer.signIn(server.ready.owner1);
	id = await open("By forms", "order");
	await accept(id);
	const page = `/workshops/${id}/invoices`;
	const rows = { number: "F-1", supplier: "Mill & Sons <b>", total_minor: "219.50",
		"lines-0-kind": "rolls", "lines-0-paper_id": String(cold), "lines-0-count": "1", "lines-0-amount_minor": "192.00",
		"lines-2-kind": "tax", "lines-2-tax_percent": "8.875", "lines-2-amount_minor": "17.50",
		"lines-5-kind": "discount", "lines-5-amount_minor": "2.00", "lines-5-tax_percent": "for us",
		"lines-7-kind": "shipping", "lines-7-amount_minor": "12.00" };
	const wrong = await treasurer.post(page, { ...rows, total_minor: "219.51" });
	expect(wrong.status === 422 && wrong.text.includes("219.50 USD") && wrong.text.includes("219.51 USD") && wrong.text.includes('value="17.50"'),
		"a total that differs comes back with both figures and what was typed", wrong.text.slice(0, 3000));
	const row = await treasurer.post(page, { ...rows, "lines-5-kind": "other", "lines-5-amount_minor": "x" });
	expect(row.status === 422 && /id="[^"]*lines-5-amount_minor[^"]*"[^>]*aria-invalid="true"|aria-invalid="true"[^>]*lines-5-amount_minor/.test(row.text.replace(/\n/g, " ")),
		"what is wrong with a line is told at its row", row.text.match(/<input[^>]*lines-5-amount_minor[^>]*>/)?.[0]);
	const lost = await treasurer.post(page, { ...rows, "lines-0-paper_id": "" });
	expect(lost.status === 422 && /aria-invalid="true"/.test(lost.text.match(/<select[^>]*lines-0-paper_id[^>]*>/)?.[0] ?? ""),
		"rolls without a paper too", lost.text.match(/<select[^>]*lines-0-paper_id[^>]*>/)?.[0]);
	expect((await owner.get(`/v1/workshops/${id}/invoices`)).json.items.length === 0, "and nothing of it is there");
	expect((await treasurer.post(page, rows)).status === 303, "an invoice is entered by a form");
	const [made] = (await owner.get(`/v1/workshops/${id}/invoices`)).json.items;
	expect(made.total_minor === 21950 && made.lines.map((l) => `${l.kind} ${l.amount_minor}`).join() === "rolls 19200,tax 1750,discount -200,shipping 1200"
		&& made.lines[1].tax_percent === "8.875" && made.lines[2].description === "for us", "as it was typed", made);
	const list = await treasurer.get(page);
	expect(list.status === 200 && list.text.includes("Mill &amp; Sons &lt;b&gt;") && list.text.includes("8.875 %") && !list.text.includes("<b>"), "and shown", list.text.slice(0, 500));
	const charge = { [`invoice-${hot}`]: "217.00" };
	const look = await treasurer.post(`/workshops/${id}/invoice/look`, charge);
	expect(look.status === 200 && !look.text.includes(`invoice-${cold}`), "the shares are shown first, of what is not on lines an amount", look.text.slice(0, 2000));
	expect((await treasurer.post(`/workshops/${id}/invoice`, charge)).status === 303, "and charged");
	expect((await accounts(id)).of("cost") === 0, "all of it");
	await agree("settling by a form");
	const owed = await balance(id, members[0]);
	await pay({ member_id: members[0], amount_minor: owed + 300 });
	const much = await treasurer.post(`/workshops/${id}/bookings`, { kind: "refund", member_id: members[0], amount_minor: "3.01", reason: "too much" });
	expect(much.status === 409 && much.text.includes("credit of 3.00 USD"), "a refund of more than there is comes back", much.text.slice(0, 2000));
	for (const form of [
		{ kind: "refund", member_id: members[0], amount_minor: "1.00", reason: "too much" },
		{ kind: "carry", member_id: members[0], amount_minor: "1.00", reason: "next time", to_workshop_id: next },
		{ kind: "transfer", member_id: members[0], amount_minor: "1.00", reason: "tape", to_member_id: members[1] },
		{ kind: "correction-less", member_id: members[1], amount_minor: "0.50", reason: "a stain" },
		{ kind: "write-off", member_id: members[1], amount_minor: "0.05", reason: "coins" },
	])
		expect((await treasurer.post(`/workshops/${id}/bookings`, form)).status === 303, `${form.kind} by a form`);
	expect(await balance(id, members[0]) === 0, "and all of them are in the ledger");
	expect((await treasurer.post(`/workshops/${id}/bookings`, { kind: "transfer", member_id: members[0], amount_minor: "1.00", reason: "tape" })).status === 422, "a transfer says to whom");
	expect((await treasurer.get(`/workshops/${id}/money`)).text.includes("write-off"), "the page of money shows them");
	await agree("bookings by forms");
	expect((await treasurer.post(`/invoices/${made.id}/withdraw`, { reason: "" })).status === 422, "withdrawing needs a reason");
	expect((await treasurer.post(`/invoices/${made.id}/withdraw`, { reason: "not ours" })).status === 303, "and is done with one");
	await agree("withdrawing by a form");
}

/* A guardian's account stands for a child: charged there, told apart by member. */
async function tryGuardian() {
	const [, child, guardian] = members;
	const read = async (m) => (await owner.get(`/v1/members/${m}`)).json;
	const set = async (m, payer) => owner.patch(`/v1/members/${m}`, { payer_id: payer }, (await read(m)).version);
	expect((await set(child, child)).status === 422, "nobody is their own payer");
	const early = await set(child, guardian);
	expect(early.status === 409 && early.text.includes("owed or credited"), "an account changes hands only when it is even", early);
	const kid = (await owner.made("/v1/members", { name: "Kid" })).id;
	expect((await set(kid, guardian)).status === 200 && (await read(kid)).payer_id === guardian, "a guardian pays for a child");
	expect((await set(guardian, members[0])).status === 409, "whoever pays for another pays for themselves");
	expect((await set(members[0], kid)).status === 409, "and a child pays for nobody");
	const key = await owner.made(`/v1/members/${guardian}/keys`, { name: "k" });
	const stranger = await owner.made(`/v1/members/${members[0]}/keys`, { name: "k" });
	next = id = await open("With a child", "order");
	await owner.made(`/v1/workshops/${id}/members`, { member_id: kid });
	await owner.made(`/v1/workshops/${id}/requests`, { member_id: kid, paper_id: cold, count: 2, across: "9 in", along: "12 in" });
	await owner.made(`/v1/workshops/${id}/requests`, { member_id: guardian, paper_id: cold, count: 2, across: "9 in", along: "12 in" });
	await owner.made(`/v1/workshops/${id}/close`, {});
	const plan = await planned(owner, (await owner.made(`/v1/workshops/${id}/plans`, {})).id);
	await owner.made(`/v1/plans/${plan.id}/accept`, {});
	expect((await settle([{ paper_id: cold, amount_minor: 8001 }])).status === 201, "both are charged");
	const a = await accounts(id);
	expect(a.of("member", guardian) === (await balance(id, guardian)) + (await balance(id, kid)) && a.of("member", kid) === 0,
		"on the guardian's account", a.items);
	const statement = await server.caller(key.key).get(`/v1/members/${kid}/statement?workshop=${id}`);
	expect(statement.status === 200 && statement.json.charges[0].account_member_id === guardian, "who reads the child's statement", statement);
	expect((await server.caller(stranger.key).get(`/v1/members/${kid}/statement?workshop=${id}`)).status === 404, "and nobody else's");
	expect((await server.caller(key.key).get(`/v1/members/${kid}`)).status === 404, "a statement, no more");
	const paid = await pay({ member_id: kid, amount_minor: await balance(id, kid), payer_id: guardian });
	expect(paid.status === 201 && await balance(id, kid) === 0, "pays it", paid);
	await agree("a guardian");
	expect((await set(kid, null)).status === 200, "and when all is even the child may pay for itself");
}

server = await startServer();
try {
	await fill();
	id = await open("First", "order");
	next = await open("Next", "order");
	await accept(id);
	await trySettling(await tryInvoices());
	await tryPayments();
	await tryShelf();
	await tryByHand();
	await tryPages();
	await tryGuardian();
} finally {
	await finish(server);
}
