// SPDX-License-Identifier: MIT
/*
 * A browser without a window: a cookie, tokens, forms.  For what pages must refuse; how they
 * look and work for people is tested in tests/browser.
 */
import { createHmac } from "node:crypto";
import { Caller, newKey } from "./api.mjs";

export class Visitor {
	constructor(server, more = {}) {
		this.http = new Caller(server, null, more);
		this.cookie = null;
	}

	/* The token of our forms: HMAC-SHA256 of "form" under the cookie's value, base64url. */
	token(cookie = this.cookie) {
		return createHmac("sha256", cookie).update("form").digest("base64url");
	}

	headers(more) {
		return { ...(this.cookie ? { Cookie: `studio=${this.cookie}` } : {}), ...more };
	}

	get(path, headers = {}) {
		return this.http.send("GET", path, { headers: this.headers(headers) });
	}

	/* fields undefined are left out; token and once are added unless they are given. */
	post(path, fields = {}, headers = {}) {
		const all = { once: newKey(), ...(this.cookie ? { token: this.token() } : {}), ...fields };
		const form = new URLSearchParams();
		for (const [name, value] of Object.entries(all))
			if (value !== undefined)
				form.append(name, value);
		return this.http.send("POST", path, {
			raw: form.toString(),
			headers: this.headers({ "Content-Type": "application/x-www-form-urlencoded", ...headers }),
		});
	}

	async signIn(key) {
		const answer = await this.post("/signin", { key });
		const set = String(answer.headers["set-cookie"] ?? "");
		if (answer.status !== 303 || !set.startsWith("studio="))
			throw new Error(`sign-in: ${answer.status} ${set}`);
		this.cookie = set.slice("studio=".length, set.indexOf(";"));
		return answer;
	}
}
