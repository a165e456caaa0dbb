# SPDX-License-Identifier: GPL-3.0-or-later
# Checks the includes of all sources against src/layers.txt:
#
#     awk -f layers.awk src/layers.txt src/*/*.h src/*/*.c
#
# Names every include that is upward, unknown or foreign, and every place outside `cli` that prints,
# with file and line. Exit status 1 when there is one.

function complain(words) {
    printf "%s:%d: %s\n", FILENAME, FNR, words
    faults++
}

# The folder that a path or an include names last before its file.
function get_folder(path,    parts, count) {
    count = split(path, parts, "/")
    return count > 1 ? parts[count - 1] : ""
}

# --- the rules ---------------------------------------------------------------------------------

NR == FNR && /^#/ { next }

NR == FNR && $1 == "module" {
    name = $2
    sub(/:$/, "", name)
    known[name] = 1
    allowed[name, name] = 1
    for (i = 3; i <= NF; i++) {
        if (!($i in known)) {
            complain("module '" name "' names '" $i "', which stands on no line above it")
        }
        allowed[name, $i] = 1
    }
    next
}

NR == FNR && $1 == "library" {
    prefix = $2
    sub(/:$/, "", prefix)
    if (!($3 in known)) {
        complain("library '" prefix "' belongs to '" $3 "', which is no module")
    }
    owner[prefix] = $3
    next
}

NR == FNR && $1 == "system" {
    for (i = 2; i <= NF; i++) {
        is_system[$i] = 1
    }
    next
}

NR == FNR && NF > 0 { complain("not a rule: a line begins with module, library or system") }
NR == FNR { next }

# --- the sources -------------------------------------------------------------------------------

FNR == 1 {
    module = get_folder(FILENAME)
    if (!(module in known)) {
        complain("unknown module '" module "': it has no line in src/layers.txt")
        known[module] = 1
    }
}

/^[ \t]*#[ \t]*include[ \t]*"/ {
    split($0, quoted, "\"")
    folder = get_folder(quoted[2])
    if (folder == "") {
        complain("unknown include \"" quoted[2] "\": write it with its folder")
    } else if (!(folder in known)) {
        complain("unknown include \"" quoted[2] "\": '" folder "' is no module")
    } else if (!((module, folder) in allowed)) {
        complain("upward include \"" quoted[2] "\": '" module "' may not include '" folder "'")
    }
    next
}

/^[ \t]*#[ \t]*include[ \t]*</ {
    header = $0
    sub(/^[^<]*</, "", header)
    sub(/>.*$/, "", header)
    if (header in is_system) {
        next
    }
    for (prefix in owner) {
        if (index(header, prefix) == 1) {
            if (owner[prefix] != module) {
                complain("foreign include <" header ">: only '" owner[prefix] "' may include it")
            }
            next
        }
    }
    complain("foreign include <" header ">: src/layers.txt does not know it")
    next
}

/^[ \t]*#[ \t]*include/ {
    complain("unknown include: its name is not in the line")
    next
}

module != "cli" && !/^[ \t]*(\/\*|\*|\/\/)/ {
    if ((" " $0) ~ /[^a-zA-Z0-9_"](printf|vprintf|puts|putchar|perror)\(|[^a-zA-Z0-9_"](stdout|stderr)[^a-zA-Z0-9_"]/) {
        complain("'" module "' prints: only 'cli' may")
    }
}

END { exit faults > 0 }
