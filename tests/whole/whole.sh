#!/usr/bin/env bash
# SPDX-License-Identifier: MIT
# The whole way with the command line: invite, join, ask, change, withdraw, close, plan, accept,
# print, settle, pay, shares, statements, and the sums between them.
# shellcheck source=tests/whole/daemon.sh
. "$(dirname "$0")/daemon.sh"

sum() { awk '{ s += $1 } END { printf "%d\n", s }'; }
fits_80_cells() { same "$1 is at most 80 cells wide" yes "$([ "$(LC_ALL=C.UTF-8 wc -L <"$2")" -le 80 ] && echo yes)"; }

# ---- a studio, two papers, a workshop ----
daemon_start one
set_up_studio "${daemon_url[one]}"
same "whoami names the member" "The instructor" "$(ts instructor whoami --plain | column name)"
ts instructor paper add "Cold press 300" --weight 300 --finish "cold press" --fibre cotton >/dev/null
ts instructor paper add "Hot press 300" --weight 300 --finish "hot press" >/dev/null
ts instructor stock add "Cold press" fresh 45in x 10yd --price 192.00 >/dev/null
ts instructor stock add "Cold press" roll-end 45in x 40in --available 1 --spoiled 20in..22in >/dev/null
ts instructor stock add "Hot press" fresh 1130mm x 9150mm --price 214.50 >/dev/null
same "45 in is 45 x 8128 units" 365760 "$(ts instructor stock --plain | column width_u | head -n 1)"
next_year=$(($(date -u +%Y) + 1))
ts instructor workshop add "Three days by the water" --closes "$next_year-03-01 17:00" \
	--starts "$next_year-03-08" --days 3 --paper "Cold press" --paper "Hot press" >/dev/null
same "17:00 in New York in winter is 22:00 in UTC" "$next_year-03-01T22:00:00Z" \
	"$(ts instructor workshop --plain | column closes_at)"

# ---- a class joins by invitation ----
link=$(ts instructor invite --uses 20 --plain 2>/dev/null | column link)
people=(ana ben cho dov eva)
for name in "${people[@]}"; do
	ts "$name" join "$link" --name "Member $name" >/dev/null 2>&1
done
same "five take part" 5 "$(ts instructor workshop members --plain | tail -n +2 | wc -l)"
fails 66 "invitation" ts mallory join "${link%?????}AAAAA" --name Mallory
fails 78 "has a key already" ts ana join "$link" --name "Member ana again"

# ---- asking ----
ts ana ask 10 9x12.5in -p cold -m 1/2in --turn >/dev/null 2>&1
ts ben ask 4 "23 x 31 cm" -p hot -m 12mm >/dev/null 2>&1
ts cho ask 6 11 x 15 in -p cold --no-turn --note "for the harbour" >/dev/null 2>&1
ts dov ask 3 22x30in -p cold >/dev/null 2>&1
ts eva ask 2 300mm x 400mm -p hot --turn >/dev/null 2>&1
ts instructor ask 1 9x12in -p cold --for "Member dov" >/dev/null 2>&1
fails 65 "1/320 mm" ts ana ask 1 "1/3 in x 9 in" -p cold
fails 65 "count 0" ts ana ask 0 9x12in -p cold
fails 65 "widest" ts ana ask 1 50x50in -p cold
fails 65 "which paper" ts ana ask 1 9x12in
fails 66 "" ts ana change 2 --count 1
fails 77 "" ts ana workshop close
same "a student sees only their own" "Member ana" "$(ts ana asked --plain | column member_name | sort -u)"
same "9 in and twice 1/2 in" 81280 "$(ts ana asked --plain | column torn_across_u)"
ts ana change 1 --count 12 >/dev/null 2>&1
fails 73 "" ts ana change 1 --count 11 --seen 1
same "the change took place once" 12 "$(ts ana asked --plain | column count)"
ts eva ask 1 10x10cm -p hot >/dev/null 2>&1
extra=$(ts eva asked --plain | column id | tail -n 1)
ts eva withdraw "$extra" >/dev/null 2>&1
fails 66 "" ts eva withdraw "$extra"
same "sheets spoken for" "22 6" "$(ts ana spoken --plain | column sheets | paste -sd ' ')"

ts instructor paper change cold --compare "pad of 12, 12, 11x15in, 25.92" >/dev/null 2>&1
fails 65 "Write name, sheets, size and price" ts instructor paper change cold --compare "pad of 12"
same "a student sees what their own sheets may cost" "Member ana" "$(ts ana estimate --plain | column member_name)"
same "and for people, beside what it would be alone" 1 "$(ts ana estimate | grep -c 'if no more come.*alone')"

same "and out of pads" 1 "$(ts ana estimate | grep -c 'The same as pad of 12, 1 of them: 25.92')"

# ---- once only ----
first=$(ts ben ask 1 9x12in -p cold --once ben-1 --plain 2>/dev/null | column id)
same "a repeat under the same name is the same request" "$first" \
	"$(ts ben ask 1 9x12in -p cold --once ben-1 --plain 2>/dev/null | column id)"
fails 65 "" ts ben ask 2 9x12in -p cold --once ben-1

# ---- closing, planning ----
fails 73 "Close it first" ts instructor plan
ts instructor workshop close >/dev/null
fails 73 "clos" ts ana ask 1 9x12in -p cold -w 1
fails 73 "closed" ts instructor workshop close -w 1
ts instructor plan >"$scratch/plan" 2>/dev/null
same "the plan is ready" 1 "$(grep -c 'is ready' "$scratch/plan")"
# on a terminal the progress is one line that is written over
again=$(printf '%q ' "$BUILD_DIR/tearshare" --profile instructor --ca "$ca" plan)
script -qec "$again" /dev/null </dev/null >"$scratch/terminal"
same "on a terminal progress is shown" yes "$(grep -qF "$(printf '\r\033[K')Cold press 300: queued" "$scratch/terminal" && echo yes)"
same "and wiped away at the end" 1 "$(grep -cF "$(printf '\r\033[K')Plan 2" "$scratch/terminal")"
same "nothing is left over" 0 "$(ts instructor plan show --plain | column unplaced)"
ts instructor accept >/dev/null
same "the plan is accepted" accepted "$(ts ana plan show --plain | column state)"

# ---- the layout is what was asked for, piece by piece ----
pieces=0
for paper in Cold Hot; do
	n=$(ts instructor plan layout -p "$paper" | jq '[.plan.rolls[].strips[].segments[].pieces[]] | length')
	pieces=$((pieces + n))
done
same "as many pieces as sheets" "$(ts instructor asked --plain | column count | sum)" "$pieces"
price=$(for paper in Cold Hot; do ts instructor plan layout -p "$paper" | jq '.plan.totals.price'; done | sum)
same "the price is that of both papers" "$price" "$(ts instructor plan show --plain | column price_minor)"

# ---- the tear sheet ----
ts instructor sheet >"$scratch/sheet.txt"
code=$(ts instructor plan show --plain | column check_code)
same "the sheet bears the plan's code" 1 "$(grep -cm1 "$code" "$scratch/sheet.txt")"
fits_80_cells "the tear sheet" "$scratch/sheet.txt"
for page in a4 letter; do
	ts instructor sheet --pdf "$scratch/$page.pdf" --page "$page" 2>/dev/null
	qpdf --check "$scratch/$page.pdf" >/dev/null
	same "the PDF bears the plan's code" 1 "$(pdftotext "$scratch/$page.pdf" - | grep -cm1 "$code")"
done
same "A4 is 595 x 842 points" "595.276 x 841.89" \
	"$(pdfinfo "$scratch/a4.pdf" | sed -n 's/^Page size: *\([0-9.]* x [0-9.]*\) pts.*/\1/p')"
same "letter is 612 x 792 points" "612 x 792" \
	"$(pdfinfo "$scratch/letter.pdf" | sed -n 's/^Page size: *\([0-9.]* x [0-9.]*\) pts.*/\1/p')"
fails 77 "" ts ana sheet

# ---- money ----
same "shares add up to the price before there is an invoice" "$price" \
	"$(ts treasurer shares --plain | column share_minor | sum)"
invoice=$((price + 1999))
ts instructor workshop torn >/dev/null
cold=$(ts instructor plan layout -p Cold | jq '.plan.totals.price + 999')
hot=$(ts instructor plan layout -p Hot | jq '.plan.totals.price + 1000')
money() { printf '%d.%02d' $(($1 / 100)) $(($1 % 100)); }
fails 65 "decimals" ts treasurer settle "Cold press=1.234" "Hot press=1"
ts treasurer settle "Cold press=$(money "$cold")" "Hot press=$(money "$hot")" >/dev/null 2>&1
same "shares add up to the invoice" "$invoice" "$(ts treasurer shares --plain | column share_minor | sum)"
same "so do the charges" "$invoice" "$(ts treasurer shares --plain | column charged_minor | sum)"
same "the workshop is settled" settled "$(ts ana workshop show --plain | column state)"
owed=$(ts ana statement --json | jq .charged_minor)
same "a statement and the shares agree" "$owed" "$(ts ana shares --plain | column share_minor)"
ts treasurer pay "Member ana" "$(money "$owed")" --method cash --on "$next_year-03-12" >/dev/null
ts treasurer pay "Member ben" 1.00 --method cash >/dev/null
wrong=$(ts treasurer payments --plain | awk -F '\t' '$5 == "payment" && $6 == 100 { print $1 }')
ts treasurer reverse "$wrong" --reason "another's" >/dev/null
fails 73 "" ts treasurer reverse "$wrong" --reason "again"
same "ana owes nothing" 0 "$(ts ana statement --json | jq .balance_minor)"
same "her statement shows the charge and the payment" "charge $owed payment $owed" \
	"$(ts ana statement --json | jq -r '[.charges[], .payments[] | .kind, .amount_minor] | join(" ")')"
same "still owed is charged minus paid" $((invoice - owed)) \
	"$(ts treasurer shares --plain | column balance_minor | sum)"
ts treasurer books >/dev/null 2>&1
same "the books agree" 0 $?
ts treasurer shares >"$scratch/shares"
same "people read the sum beside the invoice" 1 \
	"$(grep -c "Invoice $(money "$invoice") USD; the shares add up to $(money "$invoice") USD\.$" "$scratch/shares")"
fits_80_cells "the table of shares" "$scratch/shares"

# ---- invoices line by line, and what else is booked ----
fails 65 "add up to 30.50 USD, the total is 30.00 USD" \
	ts treasurer invoice add 30.00 shipping=25.50 "tax:20%=5.10" discount=0.10
fails 64 "no line of an invoice" ts treasurer invoice add 30.00 shipping
extra=$(ts treasurer invoice add 30.50 "shipping:by cart=25.50" "tax:20%=5.10" discount=0.10 --number C-7 --plain | column id)
fails 73 "is entered already" ts treasurer invoice add 30.50 shipping=30.50 --number C-7
same "nobody is charged by entering it" "$invoice" "$(ts treasurer shares --plain | column charged_minor | sum)"
ts treasurer settle >/dev/null 2>&1
same "settling charges it" $((invoice + 3050)) "$(ts treasurer shares --plain | column charged_minor | sum)"
fails 73 "settled with these invoices already" ts treasurer settle
ts treasurer invoice replace "$extra" 25.50 shipping=25.50 --number C-7 --reason "no tax on it" >/dev/null
same "the old one stays to be read" "3050 2550" \
	"$(ts treasurer invoice list --plain | awk -F '\t' '$3 == "C-7" { print $6 }' | paste -sd ' ')"
ts treasurer settle >/dev/null 2>&1
owed=$(ts ana statement --json | jq .balance_minor)
ts treasurer pay "Member ana" "$(money $((owed + 500)))" --bank-reference "day 3 line 4" >/dev/null
fails 73 "booked already" ts treasurer pay "Member ben" 1.00 --bank-reference "day 3 line 4"
fails 73 "credit of 5.00 USD" ts treasurer refund "Member ana" 5.01 --reason "too much"
ts treasurer refund "Member ana" 2.00 --reason "too much" --method cash >/dev/null
ts treasurer transfer "Member ana" "Member ben" 1.00 --reason "lent him tape" >/dev/null
ts treasurer correct "Member ana" 0.50 --less --reason "a stained sheet" >/dev/null
same "3.00 less 1.00, and 0.50 less" -250 "$(ts ana statement --json | jq .balance_minor)"
ts treasurer write-off "Member ben" 0.01 --reason "a coin that is not there" >/dev/null
same "what accounts hold adds up to nothing" 0 "$(ts treasurer account --plain | column balance_minor | sum)"
ts treasurer books >/dev/null 2>&1
same "and the books agree" 0 $?
ts treasurer invoice list >"$scratch/invoices"
fits_80_cells "the table of invoices" "$scratch/invoices"
ts treasurer account >"$scratch/account"
fits_80_cells "the table of accounts" "$scratch/account"

# ---- all that is kept of a member ----
ts ana member export --to "$scratch/ana.json" --csv "$scratch/ana.csv" >/dev/null 2>&1
same "what is kept of ana is in a file that only she may read" 600 "$(stat -c %a "$scratch/ana.json")"
same "with her payments" "$(ts ana statement --json | jq '[.charges[], .payments[]] | length')" \
	"$(jq '[.rows[] | select(.table == "ledger_entry" and .as == "own")] | length' "$scratch/ana.json")"
same "and as CSV her requests" "$(ts ana member export --plain | awk -F '\t' '$1 == "request"' | wc -l)" \
	"$(grep -cE '^"?request"?,.*,"?note"?,' "$scratch/ana.csv")"
same "nobody else is in it" 0 "$(grep -c "Member [b-e]" "$scratch/ana.json")"
fails 66 "" ts ana member export 2
same "the owner gets it for a member" "Member ben" "$(ts owner member export "Member ben" --json | jq -r '.rows[] | select(.table == "member") | .data.name')"

fails 64 "member export" ts owner member erase "Member dov"
fails 73 "workshop 1" ts owner member erase "Member dov" --yes
gone=$(ts owner member add "Fay Gone" --plain | column id)
same "one who owes nothing becomes a number" "former member $gone" \
	"$(ts owner member erase "Fay Gone" --yes --json | jq -r .member.name)"
same "and it is told what is kept" "account event member" "$(ts owner member erase "$gone" --yes --plain | column table | paste -sd ' ')"

# ---- nothing secret is told ----
daemon_stop one
same "no key stands in the log" 0 "$(grep -acE 'tsk_' "$scratch/one.log")"
finish
