-- SPDX-License-Identifier: MIT
-- How the cost of an order is shared: a workshop begins with its studio's way and keeps its own.

ALTER TABLE studio
	ADD COLUMN share_policy text NOT NULL DEFAULT 'order',
	ADD COLUMN share_ceiling boolean NOT NULL DEFAULT true,
	ADD COLUMN shipping_each boolean NOT NULL DEFAULT false,
	ADD CONSTRAINT studio_share_policy_known CHECK (share_policy IN ('order', 'torn'));

ALTER TABLE workshop
	ADD COLUMN share_policy text NOT NULL DEFAULT 'order',
	ADD COLUMN share_ceiling boolean NOT NULL DEFAULT true,
	ADD COLUMN shipping_each boolean NOT NULL DEFAULT false,
	ADD CONSTRAINT workshop_share_policy_known CHECK (share_policy IN ('order', 'torn'));
