#!/bin/sh
# A program that takes notices, for tests of the program notifier: program.sh BEHAVIOUR LOG.
# Each notice that it accepts is one line of JSON in LOG.
case $1 in
accept) cat >>"$2" ;;
slow) sleep 0.5; cat >>"$2"; sleep 0.5 ;;
refuse) echo "no such siren" >&2; exit 65 ;;
later) echo "the siren is busy"; exit 75 ;;
hang) trap '' TERM; echo $$ >"$2.leader"; sleep 600 & echo $! >"$2.child"; wait; sleep 600 ;;
hang_up) kill -9 $$ ;;
exit) exit "$3" ;;
chatter) yes 'a line of sixty-four characters, written again and again, for' | head -c 5000000; echo done >"$2" ;;
deaf) exec <&-; echo "read nothing" ;;
look)
  # What it was given: descriptors, environment, process group, folder.
  { ls /proc/self/fd | sort -n | tr '\n' ' '; echo; env | sort; echo "group $(cut -d' ' -f5 /proc/$$/stat) self $$"; pwd; } >"$2"
  ;;
leave) sleep 1.5 & echo $! >"$2" ;;
*) exit 64 ;;
esac
