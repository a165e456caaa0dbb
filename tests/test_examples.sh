# SPDX-License-Identifier: GPL-3.0-or-later
# The command lines of tests/golden and of the documents print what stands there.
shopt -s nullglob
exec "$PYTHON" tests/tools/examples.py check tests/golden/*.txt README.md DEVELOPERS.md docs/*.md
