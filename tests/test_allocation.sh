# SPDX-License-Identifier: GPL-3.0-or-later
# Memory is asked for and given back in base/memory only, where a refusal is noted.
passed=0
failed=0
pattern='\b(malloc|calloc|realloc|reallocarray|strn?dup|v?asprintf|aligned_alloc|posix_memalign|memalign|free|alloca)[[:space:]]*\('

# Comments and texts are taken out first.
find_calls() { sed -E 's|//.*||; s|/\*.*\*/||; s|"([^"\\]\|\\.)*"||g; /^[[:space:]]*(/\*\|\*)/d' "$1" | grep -nE "$pattern"; }

for file in src/*/*.[ch]; do
    [ "$file" != src/base/memory.c ] || continue
    if calls=$(find_calls "$file"); then
        failed=$((failed + 1))
        echo "$file: $calls"
    else
        passed=$((passed + 1))
    fi
done

# The search itself finds one.
if find_calls src/base/memory.c >/dev/null; then
    passed=$((passed + 1))
else
    failed=$((failed + 1))
    echo "base/memory.c calls no allocator?"
fi

echo "$passed passed, $failed failed"
[ "$failed" = 0 ]
