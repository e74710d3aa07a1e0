// SPDX-License-Identifier: MIT
/*
 * What the API tests share: a server in a folder of its own, callers, checks.
 *
 *     const server = await startServer({ failures: 60 });
 *     const owner = server.caller(server.ready.owner1);
 *     const answer = await owner.post("/v1/papers", { name: "…" });
 *     expect(answer.status === 201, "a paper is added", answer);
 *     await finish(server);
 *
 * Every request goes over node:http with kept connections; nothing waits by the clock: a
 * server is ready when its file "ready" is there, a plan when its state says so.
 */
import { spawn, execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, existsSync, chmodSync } from "node:fs";
import { randomBytes } from "node:crypto";
import { tmpdir } from "node:os";
import { join } from "node:path";
import http from "node:http";

const program = join(process.env.BUILD_DIR ?? ".", "web_server");
let failed = 0, checked = 0;

for (const signal of ["SIGTERM", "SIGINT", "SIGHUP"])
	process.once(signal, () => process.exit(1));

export function expect(good, sentence, seen) {
	checked++;
	if (good)
		return true;
	failed++;
	console.log(`FAILED: ${sentence}`);
	if (seen !== undefined)
		console.log("   saw " + (seen instanceof Object ? JSON.stringify(seen).slice(0, Number(process.env.SHOW ?? 1500)) : seen));
	return false;
}

export function routes() {
	return execFileSync(program, ["routes"], { encoding: "utf8" }).trim().split("\n").map((line) => {
		const [method, path, all, own, object, flags] = line.split("\t");
		return { method, path, all, own, object, flags: Number(flags) };
	});
}

function readReady(path) {
	const ready = {};
	for (const line of readFileSync(path, "utf8").trim().split("\n"))
		ready[line.slice(0, line.indexOf("="))] = line.slice(line.indexOf("=") + 1);
	return ready;
}

function started(child, path) {
	return new Promise((done, fail) => {
		const timer = setInterval(() => existsSync(path) && done(), 20);
		child.once("exit", (code) => fail(new Error(`web_server ended with ${code}`)));
		child.started = () => clearInterval(timer);
	}).finally(() => child.started());
}

export class Server {
	constructor(folder, options) {
		this.folder = folder;
		this.options = options;
		this.agent = new http.Agent({ keepAlive: true, maxSockets: 16 });
		this.ready = {};
	}

	async start() {
		const path = join(this.folder, "ready");
		if (existsSync(path))
			rmSync(path);
		const args = [this.folder, ...Object.entries(this.options).map(([k, v]) => `${k}=${v}`)];
		this.child = spawn(program, args, { stdio: ["ignore", "inherit", "inherit"] });
		const child = this.child;
		process.once("exit", () => child.kill()); /* a test that is stopped leaves nothing running */
		await started(child, path);
		Object.assign(this.ready, readReady(path));
	}

	async stop(signal = "SIGTERM") {
		if (this.child.exitCode !== null || this.child.signalCode !== null)
			return;
		const ended = new Promise((done) => this.child.once("exit", done));
		this.child.kill(signal);
		await ended;
		if (signal === "SIGTERM")
			expect(this.child.exitCode === 0, "the server ends well", [this.child.exitCode, this.child.signalCode]);
		this.agent.destroy();
		this.agent = new http.Agent({ keepAlive: true, maxSockets: 16 });
	}

	async remove() {
		await this.stop();
		if (process.env.KEEP === undefined)
			rmSync(this.folder, { recursive: true, force: true });
	}

	caller(key, more = {}) {
		return new Caller(this, key, more);
	}

	sql(text) {
		return execFileSync("psql", ["-X", "-A", "-t", "-q", "-v", "ON_ERROR_STOP=1", "-d",
			this.ready.owner_database, "-c", text],
			{ encoding: "utf8", ...databaseUser() }).trim();
	}

	dump() {
		return execFileSync("pg_dump", ["-d", this.ready.owner_database],
			{ encoding: "utf8", maxBuffer: 1 << 28, ...databaseUser() });
	}

	log() {
		return readFileSync(join(this.folder, "log"), "utf8");
	}
}

/* The private PostgreSQL lets in by the name of the system's user: its own when we are root. */
function databaseUser() {
	if (process.getuid() !== 0)
		return {};
	const entry = readFileSync("/etc/passwd", "utf8").split("\n")
		.find((line) => line.startsWith("postgres:")).split(":");
	return { uid: Number(entry[2]), gid: Number(entry[3]), cwd: "/" };
}

export function newKey() {
	return randomBytes(12).toString("hex");
}

export class Caller {
	constructor(server, key, more) {
		this.server = server;
		this.key = key;
		this.more = more;
	}

	send(method, path, { body, headers = {}, raw } = {}) {
		const address = this.server.ready.address;
		const all = { ...this.more, ...headers };
		let bytes = raw;
		if (this.key)
			all.Authorization = `Bearer ${this.key}`;
		if (bytes === undefined && body !== undefined)
			bytes = JSON.stringify(body);
		if (bytes !== undefined) {
			bytes = Buffer.from(bytes);
			if (all["Content-Type"] === undefined)
				all["Content-Type"] = "application/json";
			all["Content-Length"] = bytes.length;
		}
		for (const name of Object.keys(all))
			if (all[name] === null)
				delete all[name];
		return new Promise((done, fail) => {
			const req = http.request({ agent: this.server.agent, host: address.slice(0, address.lastIndexOf(":")),
				port: address.slice(address.lastIndexOf(":") + 1), method, path, headers: all }, (res) => {
				const parts = [];
				res.on("data", (part) => parts.push(part));
				res.on("end", () => {
					const data = Buffer.concat(parts);
					const text = data.toString("utf8");
					let json = null;
					if (text !== "" && /json/.test(res.headers["content-type"] ?? ""))
						json = JSON.parse(text);
					done({ status: res.statusCode, headers: res.headers, text, json, data });
				});
				res.on("error", fail);
			});
			req.on("error", fail);
			req.end(bytes);
		});
	}

	get(path, options) { return this.send("GET", path, options); }

	post(path, body, { once = newKey(), ...options } = {}) {
		const headers = { ...options.headers };
		if (once !== null)
			headers["Idempotency-Key"] = `"${once}"`;
		return this.send("POST", path, { body, ...options, headers });
	}

	patch(path, body, version, options = {}) {
		const headers = { ...options.headers };
		if (version !== undefined)
			headers["If-Match"] = `"${version}"`;
		return this.send("PATCH", path, { body, ...options, headers });
	}

	delete(path, version) {
		return this.send("DELETE", path, { headers: version === undefined ? {} : { "If-Match": `"${version}"` } });
	}

	/* The same, and it must be well. */
	async made(path, body, options) {
		const answer = await this.post(path, body, options);
		if (answer.status >= 300)
			throw new Error(`POST ${path} ${JSON.stringify(body)}: ${answer.status} ${answer.text}`);
		return answer.json;
	}
}

export async function startServer(options = {}) {
	const folder = mkdtempSync(join(tmpdir(), "web-test."));
	chmodSync(folder, 0o755); /* the database's user passes through it */
	const server = new Server(folder, options);
	await server.start();
	return server;
}

export async function finish(server) {
	if (server)
		await server.remove();
	console.log(`${checked} checks, ${failed} failed`);
	process.exitCode = failed === 0 ? 0 : 1;
}

/* Ask until the plan is done; the server says when, no clock of ours decides. */
export async function planned(caller, id) {
	for (;;) {
		const answer = await caller.get(`/v1/plans/${id}`);
		if (answer.status !== 200)
			throw new Error(answer.text);
		if (answer.json.state !== "working")
			return answer.json;
		await new Promise((done) => setTimeout(done, 50));
	}
}
