// SPDX-License-Identifier: MIT
/*
 * Two daemons and two workers on one database: they migrate once, agree on what was done, and
 * share the planning.
 *
 *     node two.mjs OWNER_CONNINFO DAEMON_CONNINFO FOLDER
 */
import { join } from "node:path";
import { addMember, caller, everything, expect, finish, planned, readKey, setUpWorkshop, startDaemon } from "./daemon.mjs";

const [ownerConninfo, conninfo, folder] = process.argv.slice(2);
const database = ["--owner-database", ownerConninfo, "--database", conninfo];
const start = (name, options, listen) => startDaemon({ data: join(folder, name), options: [...database, ...options], listen });

try {
	/* All four start on the empty database at the same time. */
	const [one, two, first, second] = await Promise.all([
		start("one", ["--workers", "0"]), start("two", ["--workers", "0"]),
		start("first", ["--workers", "1"], "none"), start("second", ["--workers", "1"], "none"),
	]);
	const keys = [one, two, first, second].flatMap((daemon) => {
		try {
			return [readKey(daemon.data)];
		} catch {
			return [];
		}
	});
	expect(keys.length === 1, "one of them made the first studio and its key", keys.length);
	const owner = caller(one, keys[0]), ownerAtTwo = caller(two, keys[0]);
	expect((await ownerAtTwo("GET", "/v1/me")).status === 200, "the other daemon knows the key");

	/* The same request to both at once is done once and answered alike. */
	const { paper, workshop } = await setUpWorkshop(owner);
	const student = await addMember(owner, one, workshop, "Student");
	const studentAtTwo = caller(two, student.key), asks = `/v1/workshops/${workshop.id}/requests`;
	const ask = (n) => ({ paper_id: paper.id, count: 1, across: "9 in", along: "12 in", note: `ask ${n}` });
	const untilDone = async (call, n) => {
		for (;;) {
			const answer = await call("POST", asks, ask(n), { once: `both-${n}` });
			if (answer.status !== 409 || !answer.headers["retry-after"])
				return answer;
		}
	};
	for (let n = 0; n < 40; n++) {
		const [a, b] = await Promise.all([untilDone(student.call, n), untilDone(studentAtTwo, n)]);
		expect(a.status === 201 && b.status === 201, `request ${n} is done by both`, [a.status, b.status]);
		expect(a.text === b.text, `both answer request ${n} alike`, [a.text, b.text]);
	}
	const there = await everything(ownerAtTwo, asks);
	expect(there.length === 40, "each request is there once", there.length);
	expect(new Set(there.map((one) => one.note)).size === 40, "and all of them are");

	/* A change at one is stale at the other. */
	const target = there[0];
	const changes = await Promise.all([
		student.call("PATCH", `/v1/requests/${target.id}`, { count: 2 }, { match: `"${target.version}"` }),
		studentAtTwo("PATCH", `/v1/requests/${target.id}`, { count: 3 }, { match: `"${target.version}"` }),
	]);
	expect(changes.map((answer) => answer.status).sort().join() === "200,412", "of two changes of one version one is stale", changes.map((a) => a.status));

	/* Closing at one while members ask at the other: each request is in time or refused. */
	let open = true;
	const late = [];
	const asking = (async () => {
		for (let n = 100; open || n < 105; n++)
			late.push({ n, answer: await studentAtTwo("POST", asks, ask(n)) });
	})();
	const closed = await owner("POST", `/v1/workshops/${workshop.id}/close`, {});
	open = false;
	await asking;
	expect(closed.status === 200, "it is closed", closed.text);
	expect(late.every(({ answer }) => answer.status === 201 || answer.status === 409), "each is taken or refused", late.map(({ answer }) => answer.status));
	const taken = late.filter(({ answer }) => answer.status === 201).length;
	expect((await everything(owner, asks)).length === 40 + taken, "what was taken is there, what was refused is not");
	const closings = await Promise.all([owner, ownerAtTwo].map((call) => call("POST", `/v1/workshops/${workshop.id}/close`, {})));
	expect(closings.every((answer) => answer.status === 409), "closed is closed, at both", closings.map((a) => a.status));

	/* Of sixteen closings at once one wins. */
	const again = await setUpWorkshop(owner, "Second");
	const race = await Promise.all(Array.from({ length: 16 }, (unused, i) =>
		(i % 2 ? owner : ownerAtTwo)("POST", `/v1/workshops/${again.workshop.id}/close`, {})));
	expect(race.filter((answer) => answer.status === 200).length === 1, "of sixteen closings one wins", race.map((a) => a.status));
	expect(race.filter((answer) => answer.status === 409).length === 15, "and fifteen are told so", race.map((a) => a.status));

	/* Plans asked for at either daemon are made by the workers, each job once. */
	for (const call of [owner, ownerAtTwo, owner, ownerAtTwo]) {
		const plan = await call("POST", `/v1/workshops/${workshop.id}/plans`, {});
		expect(plan.status === 202, "planning begins", plan.text);
		const done = await planned(call === owner ? ownerAtTwo : owner, plan.body);
		expect(done.state === "ready", "the plan is ready, seen from the other daemon", done);
		expect(done.jobs.every((job) => job.state === "done" && job.attempt === 1), "each job was taken once", done.jobs);
		expect(done.totals.unplaced === 0, "every sheet is placed", done.totals);
	}

	/* A worker that is killed is not missed. */
	await first.kill();
	const plan = await owner("POST", `/v1/workshops/${workshop.id}/plans`, {});
	expect((await planned(ownerAtTwo, plan.body)).state === "ready", "one worker is enough");

	/* Of two acceptances one wins; the shares are the same from both. */
	const accepted = await Promise.all([owner, ownerAtTwo].map((call) => call("POST", `/v1/plans/${plan.body.id}/accept`, {})));
	expect(accepted.filter((answer) => answer.status === 200).length === 1, "of two acceptances one wins", accepted.map((a) => a.status));
	const shares = await Promise.all([owner, ownerAtTwo].map((call) => call("GET", `/v1/workshops/${workshop.id}/shares`)));
	expect(shares[0].text === shares[1].text, "the shares are the same from both");
	const invoice = { invoices: [{ paper_id: paper.id, amount_minor: 20003 }] };
	const settled = await Promise.all([owner, ownerAtTwo].map((call) => call("POST", `/v1/workshops/${workshop.id}/settlements`, invoice)));
	expect(settled.filter((answer) => answer.status === 201).length === 1, "of two settlements of one invoice one charges", settled.map((a) => a.text));
	const after = await ownerAtTwo("GET", `/v1/workshops/${workshop.id}/shares`);
	expect(after.body.items.reduce((sum, one) => sum + one.charged_minor, 0) === 20003, "the charges add up to the invoice", after.text);
	expect((await owner("GET", "/v1/reconciliation")).body.items.length === 0, "the books agree");

	/* One daemon gone, the other goes on. */
	await one.kill();
	expect((await ownerAtTwo("GET", "/v1/me")).status === 200, "the other daemon goes on");
	void second;
} finally {
	await finish();
}
