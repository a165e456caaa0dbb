# SPDX-License-Identifier: GPL-3.0-or-later
"""Manual pages, completion and help say the same as the command table: pages without a warning of
groff, names that whatis finds, command lines completed by bash and zsh themselves."""
import json
import os
import re
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "world"))
import checks
import program


def ask(*words):
    status, out, err = program.run(*words)
    assert status == 0 and not err, (words, err)
    return out


def table():
    return json.loads(ask("help", "--json"))["commands"]


def show(path):
    """The page as a terminal shows it, without bold and line ends; and what groff says of it."""
    done = subprocess.run(["groff", "-man", "-Tutf8", "-K", "utf8", "-ww", "-P-c", path],
                          capture_output=True)
    text = re.sub(r".\x08", "", done.stdout.decode())
    return text, done.stderr.decode()


def flat(text):
    """The words in one line: hyphens that groff put in are taken out."""
    return re.sub(r"\s+", " ", re.sub("\N{HYPHEN}\n\\s*", "", text)).replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")


def test_pages(check, folder):
    pages = {"lodecard": (ask("help", "--manual"), None)}
    for command in table():
        pages["lodecard-" + command["name"]] = (ask("help", command["name"], "--manual"), command)
    check.check([c["name"] for c in table()] == ask("help", "--list").split(), "help --list")
    for name, (page, command) in pages.items():
        path = os.path.join(folder, name + ".1")
        with open(path, "w") as file:
            file.write(page)
        text, warnings = show(path)
        check.check(warnings == "", "%s: groff says: %s" % (name, warnings))
        man = subprocess.run(["man", "-l", "--warnings", "-E", "UTF-8", path], capture_output=True,
                             env={**os.environ, "MANPAGER": "cat", "MANROFFOPT": ""})
        check.check(man.returncode == 0 and man.stderr == b"", "%s: man says: %r" % (name, man.stderr))
        known = subprocess.run(["lexgrog", path], capture_output=True, text=True).stdout
        purpose = command["purpose"] if command else ""
        check.check('"%s - %s' % (name, purpose) in known, "%s: whatis has %r" % (name, known))
        words = flat(text)
        for part in ("SAFETY", "EXIT STATUS", "SEE ALSO"):
            check.check(part in words, "%s: no '%s'" % (name, part))
        if command is None:
            for other in pages:
                check.check(other in words, "lodecard(1) does not name " + other)
            continue
        for option in command["options"]:
            form = "--" + option["name"] + (" " + option["value"] if option["value"] else "")
            check.check(form in words and option["help"].split()[0] in words,
                        "%s: no '%s'" % (name, form))
        for verb in command["verbs"]:
            check.check(not verb["name"] or (verb["help"] or "?")[:20] in words,
                        "%s: nothing about the verb '%s'" % (name, verb["name"]))
        for example in command["examples"]:
            check.check(flat(example["line"]) in words, "%s: no example '%s'" % (name, example["line"]))


def test_help_of_verbs(check, folder):
    for command in table():
        options = {option["name"] for option in command["options"]}
        for verb in command["verbs"]:
            if not verb["name"]:
                continue
            out = ask("help", command["name"], verb["name"])
            told = {o for o in options if re.search(r"^ {2,6}(-\w, )?--%s( |$)" % o, out, re.M)}
            check.check(told == set(verb["options"]) and verb["help"].split()[0] in out,
                        "help %s %s: %s" % (command["name"], verb["name"], told ^ set(verb["options"])))
    for words, message in ((["card", "exprot"], "'card' does not know 'exprot'"),
                           (["loop", "x"], "'loop' does not know 'x'"),
                           (["loop", "--json"], "that is of the whole program"),
                           (["--json", "--list"], "exclude each other"),
                           (["--completion", "fish"], "there is no completion for 'fish'")):
        status, _, err = program.run("help", *words)
        check.check(status == 1 and message in err, "help %s: %s" % (words, err))


FILES = ("rig.yaml", "ring two.flac", "ring.flac", "loop.json", "all.jsonl", "p.svg", "p.pdf", "notes.md")
# what stands on the line, and what must be offered at its end
LINES = (
    (["lo"], {"look", "loop"}),
    (["card", "ex"], {"export"}),
    (["card", "export", "--"], {"--output", "--to", "--list", "--set", "--exporters"}),
    (["loop", "--pl"], {"--plot", "--plot-budget"}),
    (["loop", "d/ring.flac", "-j", "2", "--expl"], {"--explain"}),
    (["loop", "--rig", "d/"], {"rig.yaml"}),
    (["loop", "--rig=d/"], {"rig.yaml"}),
    (["loop", "--plot", "d/"], {"p.svg", "p.pdf"}),
    (["loop", "d/"], {"ring.flac", "ring two.flac"}),
    (["loop", "--separator", ""], {",", "semicolon", "tab", "blank"}),
    (["report", "lot", "--page", ""], {"a4", "letter"}),
    (["report", "lot", "-o", "d/"], {"p.pdf"}),
    (["ledger", "list", "he"], {"heats"}),
    (["ledger", "show", "he"], {"heat"}),
    (["series", "--model", "jiles"], {"jiles-atherton-1986", "jiles-atherton-1992", "jiles-atherton-field"}),
    (["qualify", "compare", "--figure", "rem"], None),
    (["ledger", "add", "--fund"], {"--fundamental"}),  # of tables that the command's takes in
    (["report", "gauge", "--by", ""], {"supplier", "heat", "rig"}),
    (["card", "make", "--resi"], {"--resistivity"}),
    (["help", "ca"], {"calibrate", "card"}),
)


def make_files(folder):
    os.makedirs(os.path.join(folder, "d"))
    for name in FILES:
        open(os.path.join(folder, "d", name), "w").close()


def is_right(words, wanted, got, check, shell):
    got = {os.path.basename(word.rstrip("/")).replace("\\", "") for word in got if word}
    if wanted is None:
        wanted = {"remanence", "remanence_falling", "remanence_rising", "remanence_asymmetry"}
    if "--" in words:
        got.discard("--help")
    check.check(got == wanted, "%s: %s: %s, not %s" % (shell, " ".join(words), sorted(got), sorted(wanted)))


BASH = r"""
source ./lodecard.bash
complete -p lodecard | grep -q -- '-F _lodecard lodecard' || exit 1
COMP_WORDS=("$@") COMP_CWORD=$(($# - 1))
_lodecard
printf '%s\n' "${COMPREPLY[@]}"
"""


def test_bash(check, folder):
    make_files(folder)
    with open(os.path.join(folder, "lodecard.bash"), "w") as file:
        file.write(ask("help", "--completion", "bash"))
    for words, wanted in LINES:
        parted = []  # as readline parts them: '=' is a word
        for word in words:
            parted += re.split("(=)", word) if word.startswith("--") else [word]
        done = subprocess.run(["bash", "-c", BASH, "bash", "lodecard", *parted], cwd=folder,
                              capture_output=True, text=True)
        check.check(done.returncode == 0 and not done.stderr, "bash: %s" % done.stderr)
        is_right(words, wanted, done.stdout.split("\n"), check, "bash")


# A shell of its own on a terminal of its own; compadd, through which all that is offered goes, also
# writes it down.
ZSH = r"""
zmodload zsh/zpty
zpty z zsh -f -i || exit 3 # no terminal to be had: see that /dev/pts is mounted
zpty -w z "PS1=; fpath=($PWD \$fpath); autoload -Uz compinit; compinit -u -D"
zpty -w z "zstyle ':completion:*' verbose no; setopt no_beep no_auto_menu"
zpty -w z 'compadd() { if [[ ${@[1,(i)(-|--)]} == *-(O|A|D)\ * ]]; then builtin compadd "$@"; return $?; fi
    local -a found; builtin compadd -A found "$@"; print -rl -- $found >>hits; builtin compadd "$@" }'
zpty -w z 'stop() { print END >>hits; zle kill-whole-line }; zle -N stop; bindkey "^X" stop; bindkey "^I" complete-word'
for line in "$@"; do
    : >hits
    zpty -n -w z "$line"$'\t\x18'
    for ((i = 0; i < 1200; i++)); do
        grep -q '^END$' hits && break
        sleep 0.05
    done
    cat hits
done
zpty -d z
"""


def test_zsh(check, folder):
    make_files(folder)
    with open(os.path.join(folder, "_lodecard"), "w") as file:
        file.write(ask("help", "--completion", "zsh"))
    syntax = subprocess.run(["zsh", "-n", "_lodecard"], cwd=folder, capture_output=True, text=True)
    check.check(syntax.returncode == 0 and not syntax.stderr, "zsh -n: " + syntax.stderr)
    lines = ["lodecard " + " ".join(words) for words, _ in LINES]
    done = subprocess.run(["zsh", "-f", "-c", ZSH, "zsh", *lines], cwd=folder, capture_output=True,
                          text=True, timeout=600)
    parts = done.stdout.split("END\n")
    check.check(len(parts) == len(lines) + 1, "zsh: %d answers" % (len(parts) - 1) + done.stderr)
    for (words, wanted), part in zip(LINES, parts):
        is_right(words, wanted, part.split("\n"), check, "zsh")


def test_what_is_taken_stands_in_the_tables(check, folder):
    """Words that the help tells people are those that completion offers."""
    commands = {command["name"]: command for command in table()}
    takes = {(name, option["name"]): option["takes"] for name, command in commands.items()
             for option in command["options"]}
    for name, command in commands.items():
        for option in command["options"]:
            for ending in re.findall(r"(?<!\w)(\.(?:svg|png|pdf|html|jsonl|ndjson))\b", option["help"]):
                check.check(ending in takes[name, option["name"]],
                            "%s --%s: %s is not completed" % (name, option["name"], ending))
            files = option["value"] and re.search("FILE|FOLDER|CAPTURE", option["value"])
            check.check(not files or takes[name, option["name"]],
                        "%s --%s: files are not completed" % (name, option["name"]))
    for verb in commands["card"]["verbs"]:
        check.check(set(verb["options"]) <= {o["name"] for o in commands["card"]["options"]}, verb["name"])
    exporters = [line.split()[0] for line in ask("card", "export", "--list").splitlines() if line[:1].strip()]
    check.check(set(takes["card", "to"]) <= set(exporters) and takes["card", "to"], "%s" % exporters)


if __name__ == "__main__":
    checks.main(globals())
