-- SPDX-License-Identifier: MIT
-- Do the books agree: the ledger with itself, with the shares, with the invoices.
--
-- Every rule that the schema holds when rows come in, asked again of the rows as they lie
-- there: it speaks only after somebody went around the schema, or a disk forgot.  One row a
-- trouble, with a sentence that names the row and both figures; no rows when all is well.

CREATE VIEW trouble (studio_id, workshop_id, member_id, what) AS

-- ---- the ledger with itself ----

SELECT b.studio_id, b.workshop_id, NULL::bigint,
	format('booking %s does not balance: %s %s too much', b.booking_id, sum(e.amount_minor), e.currency)
FROM booking b JOIN ledger_entry e ON e.studio_id = b.studio_id AND e.booking_id = b.booking_id
GROUP BY b.studio_id, b.booking_id, e.currency HAVING sum(e.amount_minor) <> 0

UNION ALL
SELECT b.studio_id, b.workshop_id, NULL,
	format('booking %s has %s legs and says %s', b.booking_id, count(e.entry_id), b.legs)
FROM booking b LEFT JOIN ledger_entry e ON e.studio_id = b.studio_id AND e.booking_id = b.booking_id
GROUP BY b.studio_id, b.booking_id HAVING count(e.entry_id) <> b.legs

UNION ALL
SELECT e.studio_id, e.workshop_id, e.member_id, format('entry %s has no booking', e.entry_id)
FROM ledger_entry e LEFT JOIN booking b ON b.studio_id = e.studio_id AND b.booking_id = e.booking_id
WHERE b.booking_id IS NULL

UNION ALL
SELECT e.studio_id, e.workshop_id, e.member_id,
	format('entry %s is on account %s, which is not a %s account', e.entry_id, e.account_id, e.account_kind)
FROM ledger_entry e LEFT JOIN account a
	ON a.studio_id = e.studio_id AND a.account_id = e.account_id AND a.kind = e.account_kind
WHERE a.account_id IS NULL

UNION ALL
SELECT e.studio_id, e.workshop_id, e.member_id, format('entry %s is of a member who does not take part', e.entry_id)
FROM ledger_entry e LEFT JOIN enrolment n
	ON n.studio_id = e.studio_id AND n.workshop_id = e.workshop_id AND n.member_id = e.member_id
WHERE e.member_id IS NOT NULL AND n.member_id IS NULL

UNION ALL
SELECT e.studio_id, e.workshop_id, e.member_id, format('%s %s is not more than zero', b.kind, e.entry_id)
FROM ledger_entry e JOIN booking b ON b.studio_id = e.studio_id AND b.booking_id = e.booking_id
WHERE e.account_kind = 'member' AND (b.kind IN ('payment', 'write-off') AND e.amount_minor >= 0
	OR b.kind = 'refund' AND e.amount_minor <= 0)

UNION ALL
SELECT r.studio_id, r.workshop_id, NULL,
	format('booking %s reverses %s and does not match it', r.booking_id, r.reverses_id)
FROM booking r LEFT JOIN booking o ON o.studio_id = r.studio_id AND o.booking_id = r.reverses_id
WHERE r.kind = 'reversal' AND (o.booking_id IS NULL OR o.kind = 'reversal' OR EXISTS (
	SELECT 1 FROM ledger_entry l WHERE l.studio_id = r.studio_id AND l.booking_id IN (r.booking_id, r.reverses_id)
	GROUP BY l.account_id, l.workshop_id, l.member_id, l.currency HAVING sum(l.amount_minor) <> 0))

-- ---- the ledger with the shares, and the shares with what was to be shared ----

UNION ALL
SELECT s.studio_id, s.workshop_id, NULL, format('settlement %s charges %s, its entries add up to %s',
	s.number, s.charged_minor, coalesce(sum(e.amount_minor), 0))
FROM settlement s LEFT JOIN (booking b JOIN ledger_entry e
		ON e.studio_id = b.studio_id AND e.booking_id = b.booking_id AND e.account_kind = 'member')
	ON b.studio_id = s.studio_id AND b.settlement_id = s.settlement_id
GROUP BY s.studio_id, s.settlement_id HAVING coalesce(sum(e.amount_minor), 0) <> s.charged_minor

UNION ALL
SELECT studio_id, workshop_id, NULL, format('%s is to be shared, charged was %s', shared, charged)
FROM (SELECT studio_id, workshop_id, invoice_minor + used_minor - kept_minor AS shared,
		sum(charged_minor) OVER w AS charged,
		row_number() OVER (PARTITION BY studio_id, workshop_id ORDER BY number DESC) AS back
	FROM settlement WINDOW w AS (PARTITION BY studio_id, workshop_id)) t
WHERE back = 1 AND shared <> charged

UNION ALL
SELECT s.studio_id, s.workshop_id, NULL, format('the shares of settlement %s add up to %s, %s is to be shared',
	s.number, coalesce(sum(h.share_minor), 0), s.invoice_minor + s.used_minor - s.kept_minor)
FROM settlement s LEFT JOIN share h ON h.studio_id = s.studio_id AND h.settlement_id = s.settlement_id
GROUP BY s.studio_id, s.settlement_id
HAVING coalesce(sum(h.share_minor), 0) <> s.invoice_minor + s.used_minor - s.kept_minor

UNION ALL
SELECT studio_id, workshop_id, member_id, format('the share is %s, charged was %s', sum(share), sum(charged))
FROM (SELECT s.studio_id, s.workshop_id, h.member_id, h.share_minor AS share, 0 AS charged
	FROM settlement s JOIN share h ON h.studio_id = s.studio_id AND h.settlement_id = s.settlement_id
	WHERE NOT EXISTS (SELECT 1 FROM settlement l WHERE l.studio_id = s.studio_id
		AND l.workshop_id = s.workshop_id AND l.number > s.number)
	UNION ALL
	SELECT e.studio_id, e.workshop_id, e.member_id, 0, e.amount_minor
	FROM booking b JOIN ledger_entry e ON e.studio_id = b.studio_id AND e.booking_id = b.booking_id
	WHERE b.settlement_id IS NOT NULL AND e.account_kind = 'member') t
GROUP BY studio_id, workshop_id, member_id HAVING sum(share) <> sum(charged)

UNION ALL
SELECT b.studio_id, b.workshop_id, NULL, format('charge %s has no settlement', b.booking_id)
FROM booking b LEFT JOIN settlement s ON s.studio_id = b.studio_id AND s.settlement_id = b.settlement_id
	AND s.workshop_id = b.workshop_id
WHERE b.kind IN ('charge', 'adjustment') AND s.settlement_id IS NULL

-- ---- the invoices with their lines, with the settlements made of them, with the ledger ----

UNION ALL
SELECT i.studio_id, i.workshop_id, NULL, format('the %s lines of invoice %s add up to %s, it says %s lines and %s',
	count(l.line), i.invoice_id,
	coalesce(sum(l.amount_minor) FILTER (WHERE NOT (l.kind = 'tax' AND i.tax_included)), 0), i.lines, i.total_minor)
FROM invoice i LEFT JOIN invoice_line l ON l.studio_id = i.studio_id AND l.invoice_id = i.invoice_id
GROUP BY i.studio_id, i.invoice_id HAVING count(l.line) <> i.lines
	OR coalesce(sum(l.amount_minor) FILTER (WHERE NOT (l.kind = 'tax' AND i.tax_included)), 0) <> i.total_minor

UNION ALL
SELECT s.studio_id, s.workshop_id, NULL, format('settlement %s says its invoices and estimates are %s, they are %s',
	s.number, s.invoice_minor, s.estimated_minor + coalesce(sum(i.total_minor), 0))
FROM settlement s LEFT JOIN (settlement_invoice u JOIN invoice i
		ON i.studio_id = u.studio_id AND i.invoice_id = u.invoice_id)
	ON u.studio_id = s.studio_id AND u.settlement_id = s.settlement_id
GROUP BY s.studio_id, s.settlement_id
HAVING s.estimated_minor + coalesce(sum(i.total_minor), 0) <> s.invoice_minor

UNION ALL
SELECT studio_id, workshop_id, NULL, format('the invoices add up to %s, the ledger has %s', sum(told), sum(booked))
FROM (SELECT i.studio_id, i.workshop_id, i.total_minor AS told, 0 AS booked FROM invoice i
	WHERE NOT EXISTS (SELECT 1 FROM invoice r WHERE r.studio_id = i.studio_id AND r.replaces_id = i.invoice_id)
	UNION ALL
	SELECT e.studio_id, e.workshop_id, 0, -e.amount_minor
	FROM booking b JOIN ledger_entry e ON e.studio_id = b.studio_id AND e.booking_id = b.booking_id
	WHERE b.invoice_id IS NOT NULL AND e.account_kind IN ('supplier', 'payee')) t
GROUP BY studio_id, workshop_id HAVING sum(told) <> sum(booked);

REVOKE ALL ON trouble FROM PUBLIC;
GRANT SELECT ON trouble TO tearshare_daemon;
