// SPDX-License-Identifier: MIT
/*
 * Treasurers at two daemons on one database, all at once: the same line of the bank's list, the
 * same credit given back twice, invoices replaced while others settle and members read.
 *
 *     node money.mjs OWNER_CONNINFO DAEMON_CONNINFO FOLDER
 *
 * Beside everything somebody asks for the reconciliation at both daemons without end: it holds at
 * every moment it is asked.  What each answer says is checked in itself, and at the end the
 * accounts are added up.
 */
import { join } from "node:path";
import { addMember, caller, everything, expect, finish, planned, readKey, setUpWorkshop, startDaemon } from "./daemon.mjs";

const [ownerConninfo, conninfo, folder] = process.argv.slice(2);
const database = ["--owner-database", ownerConninfo, "--database", conninfo];
const start = (name, options) => startDaemon({ data: join(folder, name), options: [...database, ...options] });
const MEMBERS = 6, ROUNDS = 12;

const sum = (items, name) => items.reduce((all, one) => all + one[name], 0);
const statuses = (answers) => answers.map((a) => a.status).sort().join();

/* Busy is not refused: whoever is told to try again does. */
async function insist(ask) {
	for (;;) {
		const answer = await ask();
		if (answer.status !== 503)
			return answer;
	}
}

async function begin(owner, two) {
	const { paper, workshop } = await setUpWorkshop(owner);
	const members = [];
	for (let i = 0; i < MEMBERS; i++) {
		const { member, call } = await addMember(owner, two, workshop, `Member ${i}`);
		members.push({ id: member.id, call });
	}

	/* Asking at one daemon while the other closes: what is taken is planned and charged. */
	let open = true;
	const asks = `/v1/workshops/${workshop.id}/requests`;
	const asking = members.map(async (member, i) => {
		for (let n = 0; n < 3 || open; n++) {
			const answer = await member.call("POST", asks, { paper_id: paper.id, count: 1 + i, across: "9 in", along: "12 in" });
			expect(answer.status === 201 || (answer.status === 409 && !open), "each is taken, or refused once it is closed", answer.text);
			if (answer.status !== 201)
				break;
		}
	});
	while ((await everything(owner, asks)).length < MEMBERS)
		continue;
	const closing = owner("POST", `/v1/workshops/${workshop.id}/close`, {});
	open = false;
	expect((await closing).status === 200, "it is closed");
	await Promise.all(asking);
	const plan = await owner("POST", `/v1/workshops/${workshop.id}/plans`, {});
	await planned(owner, plan.body);
	expect((await owner("POST", `/v1/plans/${plan.body.id}/accept`, {})).status === 200, "the plan is accepted");
	return { paper, workshop, members, path: `/v1/workshops/${workshop.id}` };
}

/* Asked until told to stop, at both daemons. */
function watch(w, callers) {
	const state = { on: true, times: 0 };
	const looks = callers.map(async (call) => {
		while (state.on) {
			const answer = await call("GET", "/v1/reconciliation");
			expect(answer.status === 200 && answer.body.items.length === 0, "the books agree whenever it is asked", answer.text);
			state.times++;
		}
	});
	looks.push(...w.members.map(async (member) => {
		while (state.on) {
			const answer = await member.call("GET", `/v1/members/${member.id}/statement?workshop=${w.workshop.id}`);
			const s = answer.body;
			expect(answer.status === 200 && sum(s.charges, "amount_minor") === s.charged_minor && sum(s.payments, "amount_minor") === s.paid_minor
				&& s.balance_minor === s.charged_minor - s.paid_minor, "a statement is of one moment", answer.text);
		}
	}));
	return { stop: async () => {
		state.on = false;
		await Promise.all(looks);
		return state.times;
	} };
}

async function sameLine(w, callers) {
	for (let n = 0; n < ROUNDS; n++) {
		const member = w.members[n % MEMBERS], other = w.members[(n + 1) % MEMBERS];
		const line = { amount_minor: 100 + n, bank_reference: `list ${n}` };
		const answers = await Promise.all([...callers, ...callers].map((call, i) =>
			insist(() => call("POST", `${w.path}/payments`, { ...line, member_id: i % 2 ? member.id : other.id }))));
		expect(statuses(answers) === "201,409,409,409", "a line of the bank is booked once, whoever books it where", answers.map((a) => a.text));
		const first = answers.find((a) => a.status === 201).body;
		expect(answers.every((a) => a.status === 201 || a.text.includes(`booking ${first.booking_id}`)), "and the others are told which it is",
			answers.map((a) => a.text));
	}
}

/* Each round enters or replaces an invoice at one daemon while both settle. */
async function changingInvoice(w, callers) {
	let last = null, charged = 0;
	for (let n = 0; n < ROUNDS; n++) {
		const body = { number: "R-1", total_minor: 20000 + 37 * n, lines: [
			{ kind: "rolls", paper_id: w.paper.id, amount_minor: 19000 }, { kind: "shipping", amount_minor: 1000 + 37 * n }] };
		const change = (call) => last === null ? call("POST", `${w.path}/invoices`, body)
			: call("POST", `/v1/invoices/${last}/replace`, { ...body, reason: `round ${n}` });
		const settle = (call) => insist(() => call("POST", `${w.path}/settlements`, { invoices: [] }));
		const [changes] = await Promise.all([Promise.all(callers.map((call) => insist(() => change(call)))), ...callers.map(settle)]);
		expect(statuses(changes) === "201,409", "of two changes of one invoice one is made", changes.map((a) => a.text));
		last = changes.find((a) => a.status === 201).body.id;
		const rest = await Promise.all(callers.map(settle));
		expect(rest.every((a) => a.status === 201 || a.status === 409), "and it is settled, or was", rest.map((a) => a.text));
		charged = 20000 + 37 * n;
	}
	const shares = (await callers[0]("GET", `${w.path}/shares`)).body;
	expect(sum(shares.items, "charged_minor") === charged && shares.invoice_minor === charged, "what is charged is the last invoice", shares);
}

async function sameCredit(w, callers) {
	for (let n = 0; n < ROUNDS; n++) {
		const member = w.members[n % MEMBERS];
		const owed = (await callers[0]("GET", `/v1/members/${member.id}/statement?workshop=${w.workshop.id}`)).body.balance_minor;
		const paid = await insist(() => callers[0]("POST", `${w.path}/payments`, { member_id: member.id, amount_minor: Math.max(owed, 0) + 500 }));
		expect(paid.status === 201, "somebody pays too much", paid.text);
		const credit = Math.max(owed, 0) + 500 - owed;
		const back = await Promise.all([...callers, ...callers].map((call) => insist(() =>
			call("POST", `${w.path}/bookings`, { kind: "refund", member_id: member.id, amount_minor: credit, reason: "too much" }))));
		expect(statuses(back) === "201,409,409,409", "one credit is given back once", back.map((a) => a.text));
		const entry = back.find((a) => a.status === 201).body;
		const reversed = await Promise.all(callers.map((call) => insist(() => call("POST", `/v1/payments/${entry.id}/reverse`, { reason: "a slip" }))));
		expect(statuses(reversed) === "201,409", "and what was booked is reversed once", reversed.map((a) => a.text));
		expect((await insist(() => callers[1]("POST", `${w.path}/bookings`, { kind: "refund", member_id: member.id, amount_minor: credit, reason: "again" }))).status === 201,
			"and then given back after all");
	}
}

try {
	const [one, two] = await Promise.all([start("one", ["--workers", "1"]), start("two", ["--workers", "0"])]);
	const key = [one, two].map((daemon) => {
		try {
			return readKey(daemon.data);
		} catch {
			return null;
		}
	}).find((k) => k);
	const callers = [caller(one, key), caller(two, key)];
	const w = await begin(callers[0], two);
	const watching = watch(w, callers);
	await changingInvoice(w, callers);
	await Promise.all([sameLine(w, callers), changingAgain(w, callers)]);
	await sameCredit(w, callers);
	expect(await watching.stop() > 0, "somebody has looked all the time");
	const account = (await callers[1]("GET", `${w.path}/account`)).body.items;
	expect(sum(account, "balance_minor") === 0, "debits are credits", account);
	const shares = (await callers[0]("GET", `${w.path}/shares`)).body;
	expect(sum(shares.items, "share_minor") === shares.sum_minor && shares.items.every((i) => i.share_minor === i.charged_minor),
		"everybody is charged their share", shares);
} finally {
	await finish();
}

/* Payments come in while another invoice is entered, settled and withdrawn again. */
async function changingAgain(w, callers) {
	for (let n = 0; n < ROUNDS; n++) {
		const made = await insist(() => callers[n % 2]("POST", `${w.path}/invoices`, { number: `S-${n}`, total_minor: 301 + n,
			lines: [{ kind: "other", amount_minor: 301 + n }] }));
		expect(made.status === 201, "a second invoice comes", made.text);
		await insist(() => callers[(n + 1) % 2]("POST", `${w.path}/settlements`, { invoices: [] }));
		const gone = await Promise.all(callers.map((call) => insist(() => call("POST", `/v1/invoices/${made.body.id}/withdraw`, { reason: "not ours" }))));
		expect(statuses(gone) === "201,409", "and is withdrawn once", gone.map((a) => a.text));
		const settled = await insist(() => callers[n % 2]("POST", `${w.path}/settlements`, { invoices: [] }));
		expect(settled.status === 201, "and credited", settled.text);
	}
}
