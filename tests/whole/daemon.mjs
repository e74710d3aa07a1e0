// SPDX-License-Identifier: MIT
/*
 * A real daemon for tests in JavaScript, over plain HTTP on the loopback.
 *
 *     const one = await startDaemon({ data: folder, options: ["--workers", "0"] });
 *     const owner = caller(one, readKey(folder));
 *     await owner("POST", "/v1/papers", { name: "…" });          { status, body, headers }
 *     await one.kill();                                          kill -9
 *     await one.start();                                         up again at the same port
 *     await one.stop();                                          SIGTERM
 *
 * Nothing waits by the clock: a daemon is ready when it says so.  A call that gets no answer
 * rejects.
 */
import { spawn } from "node:child_process";
import { chmodSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { randomBytes } from "node:crypto";
import { tmpdir } from "node:os";
import { join } from "node:path";
import http from "node:http";

const program = join(process.env.BUILD_DIR ?? ".", "tearshared");
const running = new Set();
let checked = 0, failed = 0;

export function makeFolder() {
	const folder = mkdtempSync(join(tmpdir(), "tearshare-"));
	chmodSync(folder, 0o711); // as root the private PostgreSQL runs as another user
	return folder;
}

export function removeFolder(folder) {
	rmSync(folder, { recursive: true, force: true });
}

export function readKey(folder) {
	return readFileSync(join(folder, "owner.key"), "utf8").trim();
}

/* The same numbers for the same seed (Lehmer's generator, modulus 2^31 - 1). */
export function seeded(seed) {
	let state = seed % 2147483647 || 1;
	return (n) => (state = state * 48271 % 2147483647) % n;
}

export function expect(good, sentence, seen) {
	checked++;
	if (good)
		return true;
	failed++;
	console.log(`FAILED: ${sentence}`);
	if (seen !== undefined)
		console.log("   saw " + (typeof seen === "string" ? seen : JSON.stringify(seen) ?? "nothing").slice(0, 1500));
	return false;
}

export async function finish() {
	for (const daemon of running)
		await daemon.stop();
	console.log(`${checked} checks, ${failed} failed`);
	process.exitCode = failed || !checked ? 1 : 0;
}

/* Whatever happens, no daemon stays behind. */
process.on("exit", () => running.forEach((daemon) => daemon.child?.kill("SIGKILL")));
for (const signal of ["SIGINT", "SIGTERM"])
	process.on(signal, () => process.exit(1));

class Daemon {
	constructor({ data, options = [], listen = "127.0.0.1:0" }) {
		Object.assign(this, { data, options, listen, port: 0, log: "" });
	}

	/*
	 * Exit status 75 asks to be tried again, which a service manager does: of a PostgreSQL that
	 * was killed, a process may still hold the memory for a moment.
	 */
	async start() {
		for (let tries = 1;; tries++) {
			try {
				return await this.startOnce();
			} catch (error) {
				if (error.status !== 75 || tries === 50)
					throw error;
				running.delete(this);
				await new Promise((done) => setTimeout(done, 50 * tries));
			}
		}
	}

	startOnce() {
		const listen = this.port ? `127.0.0.1:${this.port}` : this.listen;
		const child = spawn(program, ["-d", "--listen", listen, "--data", this.data, ...this.options], { stdio: ["ignore", "ignore", "pipe"] });
		this.child = child;
		running.add(this);
		this.ended = new Promise((done) => child.once("exit", done));
		return new Promise((done, fail) => {
			let text = "";
			child.stderr.setEncoding("utf8");
			child.stderr.on("data", (part) => {
				this.log = (this.log + part).slice(-20000);
				if (text === null)
					return;
				text += part;
				const ready = /event=ready listen="?([^"\s]*)"?/.exec(text);
				if (!ready)
					return;
				text = null;
				this.port = Number(/:(\d+)$/.exec(ready[1])?.[1] ?? 0);
				done(this);
			});
			child.once("exit", (status, signal) => text !== null &&
				fail(Object.assign(new Error(`the daemon did not start (${status ?? signal}):\n${text}`), { status })));
			child.once("error", fail);
		});
	}

	async end(signal) {
		running.delete(this);
		this.child.kill(signal);
		return this.ended;
	}

	kill() {
		return this.end("SIGKILL");
	}

	stop() {
		return this.end("SIGTERM");
	}
}

export function startDaemon(how) {
	return new Daemon(how).start();
}

/* A function that asks one daemon as one person; sent(request) is told when all is written. */
export function caller(daemon, key) {
	const agent = new http.Agent({ keepAlive: true });
	return (method, path, value, { once, match, sent } = {}) => new Promise((done, fail) => {
		const body = value === undefined ? undefined : Buffer.from(JSON.stringify(value));
		const headers = key ? { authorization: `Bearer ${key}` } : {};
		if (body)
			Object.assign(headers, { "content-type": "application/json", "content-length": body.length });
		if (method === "POST")
			headers["idempotency-key"] = once ?? randomBytes(16).toString("hex");
		if (match)
			headers["if-match"] = match;
		const request = http.request({ host: "127.0.0.1", port: daemon.port, method, path, headers, agent }, (answer) => {
			const parts = [];
			answer.on("data", (part) => parts.push(part));
			answer.on("error", fail);
			answer.on("end", () => {
				const text = Buffer.concat(parts).toString("utf8");
				if (!answer.complete)
					return fail(new Error("the answer was cut"));
				const json = /json/.test(answer.headers["content-type"] ?? "") ? JSON.parse(text) : null;
				done({ status: answer.statusCode, headers: answer.headers, text, body: json });
			});
		});
		request.on("error", fail);
		request.end(body, sent);
	});
}

/* All pages of a list. */
export async function everything(call, path) {
	const items = [];
	for (let after = 0; after !== null;) {
		const page = await call("GET", `${path}${path.includes("?") ? "&" : "?"}limit=100${after ? `&after=${after}` : ""}`);
		if (page.status !== 200)
			throw new Error(`${path}: ${page.status} ${page.text}`);
		items.push(...page.body.items);
		after = page.body.next;
	}
	return items;
}

async function made(call, path, value) {
	const answer = await call("POST", path, value);
	if (answer.status !== 201)
		throw new Error(`${path}: ${answer.status} ${answer.text}`);
	return answer.body;
}

/* A paper with a roll, and a workshop that takes requests. */
export async function setUpWorkshop(owner, name = "Workshop") {
	const paper = await made(owner, "/v1/papers", { name: `Paper of ${name}`, weight_gsm: 300, finish: "rough" });
	await made(owner, "/v1/stock", { paper_id: paper.id, kind: "fresh", name: "roll", width: "45 in", length: "10 yd", price_minor: 19200 });
	const year = new Date().getUTCFullYear() + 1;
	const workshop = await made(owner, "/v1/workshops", { name, closes_at: `${year}-06-01T12:00:00Z`, starts_on: `${year}-06-08`, papers: [paper.id] });
	return { paper, workshop };
}

/* A new member with a key, taking part. */
export async function addMember(owner, daemon, workshop, name, roles = ["student"]) {
	const member = await made(owner, "/v1/members", { name, roles });
	const key = await made(owner, `/v1/members/${member.id}/keys`, { name: "test" });
	if (workshop)
		await made(owner, `/v1/workshops/${workshop.id}/members`, { member_id: member.id });
	return { member, key: key.key, call: caller(daemon, key.key) };
}

/* Until the plan is no longer worked on. */
export async function planned(call, plan) {
	for (;;) {
		const answer = await call("GET", `/v1/plans/${plan.id}`);
		if (answer.status !== 200 || answer.body.state !== "working")
			return answer.body;
		await new Promise((done) => setTimeout(done, 30));
	}
}
