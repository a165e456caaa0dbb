# SPDX-License-Identifier: GPL-3.0-or-later
# Memory is asked for and given back in base/memory only, where a refusal is noted.
passed=0
failed=0
pattern='\b(malloc|calloc|realloc|reallocarray|strn?dup|v?asprintf|aligned_alloc|posix_memalign|memalign|free|alloca)[[:space:]]*\('

# The calls in a file, less what stands in comments.
find_calls() { grep -nE "$pattern" "$1" | grep -vE '^[0-9]+:[[:space:]]*(/?\*|//)'; }

for file in src/*/*.[ch]; do
    [ "$file" != src/base/memory.c ] || continue
    if calls=$(find_calls "$file"); then
        failed=$((failed + 1))
        echo "$file: $calls"
    else
        passed=$((passed + 1))
    fi
done

# The search itself finds those that are there.
if [ "$(find_calls src/base/memory.c | wc -l)" -ge 5 ]; then
    passed=$((passed + 1))
else
    failed=$((failed + 1))
    echo "nothing is found in base/memory.c"
fi

echo "$passed passed, $failed failed"
[ "$failed" = 0 ]
