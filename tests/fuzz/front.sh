# Sourced by tests/fuzz/run: the front end under damage, and on texts that nobody writes on purpose.
build_with_units front_fuzz tests/fuzz/front_fuzz.c
build_with_units front_driver tests/cases/front_driver.c

files=$(ls examples/*/*.start stdlib/trade/*.start stdlib/trade/gates/*.start 2>/dev/null)
every=${FUZZ_EVERY:-5} random=${FUZZ_RANDOM:-2000}
check 'front: damaged files' "$work/front_fuzz" --every "$every" --random "$random" $files

for file in $files; do
    sed 's/^[ \t]*//' "$file" >"$work/flat"
    check "front: $file without its indentation" "$work/front_driver" "$work/flat"
done

# expect TITLE WANTED TEXT…: the findings of the text, as "LINE [id]" each, are just these.
expect() {
    local got
    got=$("$work/front_driver" "$work/text" | sed 's/:.*\[/ [/' | head -n 5 | tr '\n' ' ')
    if [ "$got" = "${2:+$2 }" ]; then ok "front: $1"; else bad "front: $1" "got '$got' instead of '$2'"; fi
}
repeat() { # N TEXT: the text N times
    awk -v n="$1" -v text="$2" 'BEGIN { for (i = 0; i < n; i++) printf "%s", text }'
}
text=$work/text
: >"$text"; expect 'an empty file' ''
printf '\n\n# only a comment' >"$text"; expect 'only a comment' ''
printf '\357\273\277group g "G" {\r\n    set a ON\r\n}\r\n' >"$text"; expect 'a byte order mark and CRLF' ''
printf 'group g "G" {\r    set a ON\r    chek b ON\r}\r' >"$text"; expect 'CR alone' '3 [unknown-word]'
printf 'group g "G" {\n\tset\302\240a ON\n}\n' >"$text"; expect 'tab and no-break space' ''
printf 'group g "G" {\n    set a\000 ON\n    chek b ON\n}\n' >"$text"; expect 'a NUL byte' '2 [bad-character] 3 [unknown-word]'
printf 'group g "G\000G" {\n    set a ON\n}\n' >"$text"; expect 'a NUL byte in a text' '1 [bad-character]'
printf 'group g "G" {\n    set a\377 ON # \300\n    set b ON # \355\240\200\n}\n' >"$text"; expect 'bytes that are not UTF-8' '2 [not-utf8] 3 [not-utf8]'
printf 'group g "G" { # \342\200\256 turned\n    set a ON\n}\n' >"$text"; expect 'writing turned round' '1 [turned-writing]'
printf 'group g "G" {\n    set a\001 ON\n}\n' >"$text"; expect 'a control character' '2 [bad-character]'
printf 'group g "G\342\200\213" {\n    set a\302\255b ON # \357\273\277\n}\n' >"$text"; expect 'characters without a shape' '1 [bad-character] 2 [bad-character]'
printf '\377\376g\000r\000o\000u\000p\000' >"$text"; expect 'UTF-16' '1 [not-utf8]'
head -c 4096 "$work/front_driver" >"$text"; "$work/front_driver" "$text" >"$work/out"; check 'front: a program instead of a text' test -s "$work/out"
{ echo 'group g "G" {'; repeat 100000 '{ '; echo; echo '}'; } >"$text"; expect '100,000 braces' '2 [unclosed]'
{ echo 'group g "G" {'; repeat 100000 '{ '; repeat 100000 '} '; echo; echo '}'; } >"$text"; expect '100,000 braces, all closed' '2 [syntax]'
{ echo 'group g "G" {'; for i in $(seq 300); do echo 'when a ON {'; done; } >"$text"
expect '300 blocks within each other' "$(head -n 5 <<<"$(for i in 1 2 3 4 5; do echo "$i [unclosed]"; done)" | tr '\n' ' ' | sed 's/ $//')"
{ echo 'group g "G" {'; repeat 250 'when a ON { '; echo 'set b ON'; repeat 250 '} '; echo '}'; } >"$text"; expect '250 blocks, all closed' '2 [nested-too-deeply]'
{ printf 'state s means '; repeat 100000 '('; echo a; } >"$text"; expect '100,000 brackets' '1 [nested-too-deeply]'
{ printf 'state s means '; repeat 100000 'not '; echo a; } >"$text"; expect '100,000 nots' '1 [nested-too-deeply]'
{ printf 'state s means a'; repeat 100000 ' or b'; echo; } >"$text"; expect '100,000 alternatives' ''
{ printf 'kind '; repeat 100000 'abcdefghij'; echo; echo 'kind b'; } >"$text"; expect 'a name of 1 MB' '1 [long-name]'
{ printf 'kind a "'; repeat 100000 'abcdefghij'; echo; echo 'kind b'; } >"$text"; expect 'a text of 1 MB without its end' '1 [unclosed-text]'
{ printf '# '; repeat 100000 'abcdefghij'; echo; echo 'kind b'; } >"$text"; expect 'a comment of 1 MB' ''
{ printf 'aircraft a "A" {\n value v '; repeat 40 1234567890; printf ' s\n}\n'; } >"$text"; expect 'a number of 400 digits' ''
repeat 100000 '}' >"$text"; expect '100,000 closing braces' '1 [unclosed]'
{ echo 'group g "G" {'; repeat 20000 '; = , : ) ] & '; echo '}'; } >"$text"; "$work/front_driver" "$text" >"$work/out"; check 'front: 20,000 signs on one line' test "$(wc -l <"$work/out")" -eq 1

# Every free word is a name wherever nothing else is meant.
free='use control gauge light scene person call briefing source edition aircraft tail engines kind lines line inoperative duty rest
tries times band value print pace procedure drill group applies drills cue armed phase memory case event state gate severity
standard holds rank waive at adapt add replace move reword omit document contains revision effective changes prepared approved
distribution card type issue fleet wording stops turns powers counted check look brief wait crank hold release watch plain note caution
warning'
for W in $free; do cat <<END
use $W
control $W each engine "T" { A, B "b" turns $W, C counted stops left.$W } if fitted
gauge $W "T" psi
call $W "T" { A }
person $W "T"
kind $W
source $W "T" edition "1"
lines $W 4-8 { 1 "x" }
aircraft $W "T" {
    engines $W, $W
    kind $W
    not fitted $W, $W
    duty $W up to $W on, 20 s rest, 3 tries, then 1 min rest when $W and $W from $W 2
    band $W $W 1..2 s, $W at least 3 s when $W ON
    value $W 3 s
    print $W A "x"
    pace each item at most $W
}
tail $W "T" is $W { inoperative $W until 2031-01-01 because "x" by "y" }
procedure $W "T" for $W, $W from $W 2 {
    begins with $W A and $W is not $W
    drills $W, $W
    phase $W "T", otherwise turn to $W {
        set $W A within $W after $W
        set $W 3 A by $W
        check $W $W and (left.$W at least $W or fitted $W) for $W, if $W turn to $W, otherwise turn to $W
        expect $W is $W within $W after $W seen $W, otherwise again after $W
        look $W A
        call $W by $W, answered A within $W
        brief $W
        wait at least $W after $W
        crank up to $W until $W
        try up to $W times { hold $W } until $W
        hold $W A
        release $W
        watch $W
        when watching $W { do $W }
        for $W { do $W }
        end A, next start after $W, start again at $W
    }
}
drill $W "T" for $W {
    cue $W above $W
    armed while $W
    memory { do $W }
}
event $W means $W or $W becomes A or call $W or brief $W or look $W A or set $W A or $W answered A
state $W means $W below $W
gate $W "T" {
    in $W, before each $W since the last $W except in $W, $W: $W, then a pause of at least $W
    severity $W
    applies when $W
}
gate $W "T" { each $W lasts at most $W }
gate $W "T" { each $W can reach $W }
gate $W "T" { at most $W $W since the last $W }
gate $W "T" { in any $W: at most $W $W }
gate $W "T" { every end of $W: $W }
gate $W "T" { duty of $W kept }
gate $W "T" { after each $W within $W: $W or $W }
gate $W "T" { from each $W until $W: $W }
standard $W "T" {
    holds $W, $W
    rank $W, $W as $W
}
waive $W at $W on $W, $W until 2031-01-01
adapt $W for $W {
    after $W add { do $W }
    replace $W with { do $W }
    move $W before $W
    reword $W as "x"
    omit $W
}
document $W "T" {
    for $W
    standard $W
    contains $W, all drills
    card $W, also in kPa
    issue $W, $W
}
fleet $W "T" { $W, $W }
wording $W { $W "x" { A "y" }, $W "x" }
END
done >"$text"
expect 'every free word is a name' ''

# Time grows with the text, also where every line has a mistake. Sanitizers have times of their own.
[ -z "${SANITIZE-}" ] || return 0
lines() { awk -v n="$1" 'BEGIN { print "group g \"G\" {"; for (i = 0; i < n; i++) print "    chek a" i " ON"; print "}" }'; }
lines 20000 >"$text"; few=$("$work/front_driver" --time 3 "$text" | sed 's/.* \([0-9.]*\) ms.*/\1/')
lines 200000 >"$text"; many=$("$work/front_driver" --time 3 "$text" | sed 's/.* \([0-9.]*\) ms.*/\1/')
check "front: a mistake on every line: 20,000 lines in $few ms, 200,000 in $many ms" awk "BEGIN { exit !($many < 14 * $few + 20) }"
