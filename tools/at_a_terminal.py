#!/usr/bin/env python3
"""Runs a command at a pseudo-terminal and types answers to its questions.

Use: at_a_terminal.py ANSWERS COMMAND... where ANSWERS is a JSON list of lines. Each line is typed once the command waits.
Writes what the terminal showed, then `exit CODE`.
"""
import json
import os
import pty
import select
import sys


def main(answers: list[str], command: list[str]) -> None:
    child, terminal = pty.fork()
    if child == 0:
        os.execvp(command[0], command)
    shown = b""
    waiting = list(answers)
    while True:
        ready, _, _ = select.select([terminal], [], [], 1.0)
        if ready:
            try:
                part = os.read(terminal, 65536)
            except OSError:
                part = b""
            if not part:
                break
            shown += part
        elif waiting:
            os.write(terminal, waiting.pop(0).encode() + b"\n")
        else:
            # Nobody answers any more: end of input.
            os.write(terminal, b"\x04")
    _, status = os.waitpid(child, 0)
    sys.stdout.write(shown.decode("utf-8", "replace").replace("\r\n", "\n"))
    print(f"exit {os.waitstatus_to_exitcode(status)}")


if __name__ == "__main__":
    main(json.loads(sys.argv[1]), sys.argv[2:])
