# Lodecard
#
#   all           the program and the library, into build/$(VARIANT)
#   demo          install what building needs, build, run the samples
#   test          install what testing needs, build, run all tests; ends in "N passed, N failed"
#   coverage      how often the stated 95 % intervals hold the truth, on 2000 simulated benches
#   lots          200000 simulated rings, samples and lots of known truth: are verdicts and risks as often right as told
#   coverage-lines  which lines and branches the tests reach: a table, and build/coverage/lines.html;
#                 coverage-check: the same, and fails where the modules of numbers are below 90 %
#   bench         time and memory of the main jobs against their limits, and how they grow; BENCH=PART (see
#                 tests/bench/run.py --help), BENCH=--write puts the tables into docs/speed.md
#   mutants       breaks the code of the numeric modules in COUNT places drawn by SEED, one at a time: do the tests
#                 notice? Half an hour on a quiet machine; AGAIN=--again takes those that survived, once more
#   fuzz          all fuzz targets of tests/fuzz, SECONDS=n each, or RUNS=n (with clang); READERS: only these;
#                 QUICK=1: without the address sanitizer, some three times as many in the same time
#   hostile       mutated files of every kind into the program: RUNS=n (default 100000), SEED=n
#   deep          what takes too long for every change: faults at many places, sanitizers of memory and threads,
#                 valgrind, analyzers; DEEP= names parts (tests/tools/deep)
#   faults        2000 clean captures and 200 of every fault: which are noted (long)
#   pages         make a report of every kind; look at its HTML with a validator and a headless browser (needs npm's
#                 registry once); LOOK=1 leaves pictures in build/release/pages/looks
#   layers        check the includes against src/layers.txt
#   format        lay out all sources;  format-check: only look
#   golden        write down anew what the examples in tests/golden and the documents print
#   reports       make the pictures and results in reports/ anew from a sample
#   install       into $(DESTDIR)$(PREFIX): program, library, header, pkg-config file, manual pages,
#                 completion for bash and zsh
#   uninstall     remove what install put there
#   deps-build    install the packages that building needs;  deps-test, deps-lint: those of the tests
#                 and of the checks of format and compilers
#   objects       compile everything, link nothing (to see warnings)
#   clean         remove the build folder
#
# Settings: VARIANT=release|debug|san|coverage (san: address and undefined-behaviour sanitizers;
# coverage: counts what runs), WERROR=1
# (warnings are errors), V=1 (show the commands), PREFIX, DESTDIR, BUILD (folder), CC, CFLAGS,
# LDFLAGS, HARDEN, PYTHON, TESTS (only these) and SKIP (all but these: see tests/tools/run-tests).

VARIANT ?= release
PREFIX ?= /usr/local
BUILD ?= build
PYTHON ?= /usr/bin/python3
CC = gcc

ifeq ($(filter $(VARIANT),release debug san fuzz fuzz-quick coverage),)
$(error VARIANT is '$(VARIANT)': it must be release, debug, san or coverage)
endif

# Debian packages, the one list of them.
BUILD_PACKAGES = gcc libc6-dev pkg-config libsndfile1-dev libfftw3-dev libgsl-dev libyaml-dev libjansson-dev liblua5.4-dev \
    libcairo2-dev libpango1.0-dev libssl-dev libsqlite3-dev fonts-dejavu-core
# libmp3lame-dev: libsndfile1-dev needs it for static linking, but does not ask for it.
TEST_PACKAGES = check libmp3lame-dev python3-jsonschema python3-numpy python3-scipy \
    getdp ngspice octave parallel poppler-utils qpdf zsh man-db groff
# Only what is not there: some install node with an npm of its own.
PAGES_PACKAGES = $(foreach pair,node:nodejs npm:npm chromium:chromium,$(if $(shell \
    command -v $(firstword $(subst :, ,$(pair)))),,$(lastword $(subst :, ,$(pair)))))
LINT_PACKAGES = clang clang-format clang-tidy gcovr libclang-rt-14-dev libomp-dev valgrind

# Libraries by their pkg-config names.
LIBRARIES = sndfile fftw3 gsl yaml-0.1 jansson libcrypto lua5.4 sqlite3
# These are loaded by the first picture (src/paper/drawing.h): only their headers are needed here.
DRAWING = cairo pangocairo

# --- how it is compiled ------------------------------------------------------------------------

OPTIMIZE_release = -O3
OPTIMIZE_debug = -Og -g
OPTIMIZE_san = -O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined -fno-sanitize-recover=all
# For `make fuzz` alone, which sets the compiler, too. Tracing comparisons doubles the time; the words
# that they would find stand in tests/fuzz/words.
OPTIMIZE_fuzz = -O2 -g -fno-omit-frame-pointer -fsanitize=fuzzer-no-link,address,undefined \
    -fno-sanitize-coverage=trace-cmp -fno-sanitize-recover=all -DFUZZING_BUILD_MODE_UNSAFE_FOR_PRODUCTION
# Some three times as quick: where the bytes that are read end, and all that the heap holds, is not watched here.
OPTIMIZE_fuzz-quick = -O2 -g -fno-omit-frame-pointer -fsanitize=fuzzer-no-link,undefined -fsanitize-trap=undefined \
    -fno-sanitize-coverage=trace-cmp -U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=2 -fstack-protector-strong \
    -DFUZZING_BUILD_MODE_UNSAFE_FOR_PRODUCTION
# A branch of the source is one branch only as it stands: no optimizer, no copies for other processors.
OPTIMIZE_coverage = -O0 -g --coverage -fprofile-update=atomic '-Dtarget_clones(...)=' '-Doptimize(...)='

# The same input gives the same bytes: no contraction into fused operations, no -ffast-math.
CFLAGS ?= $(OPTIMIZE_$(VARIANT))

# What a slip in memory meets in the release build (tests/test_hardening.py looks for it in the binaries;
# docs/robustness.md has what it costs). HARDEN= builds without.
HARDEN_PROCESSOR = $(if $(filter x86_64 i%86,$(shell uname -m)),-fcf-protection=full)
HARDEN ?= $(if $(filter release,$(VARIANT)),-U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=3 -fstack-protector-strong \
    -fstack-clash-protection $(HARDEN_PROCESSOR))
HARDEN_LINK = -Wl,-z,relro,-z,now,-z,noexecstack

WARNINGS = -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wno-sign-conversion \
    -Wstrict-prototypes -Wmissing-prototypes $(if $(filter 1,$(WERROR)),-Werror)
COMPILE = $(CC) -std=c11 -D_GNU_SOURCE -Isrc $(CPPFLAGS) $(WARNINGS) $(CFLAGS) -ffp-contract=off \
    $(HARDEN) -fopenmp -pthread -fPIC -fvisibility=hidden
LINK = $(CC) $(CFLAGS) $(if $(HARDEN),$(HARDEN) $(HARDEN_LINK)) $(LDFLAGS) -fopenmp -pthread

# pkg-config is asked once, and only by who compiles: it may not be installed yet.
ask = $(or $(shell pkg-config $1),$(error libraries are missing: 'make deps-build deps-test' installs them))
LIBRARY_CFLAGS = $(eval LIBRARY_CFLAGS := $(call ask,--cflags $(LIBRARIES) $(DRAWING)))$(LIBRARY_CFLAGS)
LIBRARY_LIBS = $(eval LIBRARY_LIBS := $(call ask,--libs $(LIBRARIES)))$(LIBRARY_LIBS)
CHECK_CFLAGS = $(eval CHECK_CFLAGS := $(call ask,--cflags check))$(CHECK_CFLAGS)
CHECK_LIBS = $(eval CHECK_LIBS := $(call ask,--libs check cairo))$(CHECK_LIBS)

# --- what is built -----------------------------------------------------------------------------

B = $(BUILD)/$(VARIANT)
say = @$(if $(V),,echo '  $1 $2';)
SONAME = liblodecard.so.0
VERSION = $(shell sed -n 's/^.define LODECARD_VERSION "\(.*\)"/\1/p' src/base/version.h)

SOURCES = $(wildcard src/*/*.c)
OBJECTS = $(SOURCES:src/%.c=$(B)/%.o)
CLI_OBJECTS = $(filter $(B)/cli/%,$(OBJECTS))
LIBRARY_OBJECTS = $(filter-out $(CLI_OBJECTS),$(OBJECTS))
TEST_OBJECTS = $(patsubst %.c,$(B)/%.o,$(wildcard tests/*.c))
FUZZ_READERS = $(patsubst tests/fuzz/%.c,%,$(filter-out tests/fuzz/fuzz_%,$(wildcard tests/fuzz/*.c)))
FUZZ_OBJECTS = $(FUZZ_READERS:%=$(B)/tests/fuzz/%.o)
FORMATTED = $(wildcard src/*/*.[ch] tests/*.[ch] tests/*/*.[ch])

all: $(B)/lodecard $(B)/liblodecard.a $(B)/$(SONAME) $(B)/manual/lodecard.1
objects: $(OBJECTS) $(TEST_OBJECTS) $(FUZZ_OBJECTS) $(B)/tests/fuzz/fuzz_replay.o $(B)/tests/fuzz/fuzz_support.o

$(B)/%.o: src/%.c Makefile
	@mkdir -p $(@D)
	$(call say,compile,$<) $(COMPILE) $(LIBRARY_CFLAGS) -MMD -MP -c -o $@ $<

$(B)/tests/%.o: tests/%.c Makefile
	@mkdir -p $(@D)
	$(call say,compile,$<) $(COMPILE) -Itests $(LIBRARY_CFLAGS) $(CHECK_CFLAGS) -MMD -MP -c -o $@ $<

# A fuzz target is called by libFuzzer's name, or, where all are in one program, by its own.
$(B)/tests/fuzz/%.o: tests/fuzz/%.c Makefile
	@mkdir -p $(@D)
	$(call say,compile,$<) $(COMPILE) -Itests/fuzz $(if $(filter fuzz fuzz-quick,$(VARIANT)),,-DLLVMFuzzerTestOneInput=fuzz_$*) \
	    $(LIBRARY_CFLAGS) -MMD -MP -c -o $@ $<

# The assembler copies the exporters into this one (.incbin), which -MMD does not see.
$(B)/card/exporter_list.o: src/card/prelude.lua $(wildcard src/card/exporters/*.lua)

# The tables of the ledger stand in the program as they are.
$(B)/ledger/schema.o: $(wildcard src/ledger/*.sql)

# For the program and the tests: the modules as they are.
$(B)/modules.a: $(LIBRARY_OBJECTS)
	@rm -f $@
	$(call say,collect,$@) ar rcs $@ $^

$(B)/lodecard: $(CLI_OBJECTS) $(B)/modules.a
	$(call say,link,$@) $(LINK) -pie -o $@.part $^ $(LIBRARY_LIBS) -lm && mv $@.part $@

# The commands without main(), for the tests.
$(B)/cli.a: $(filter-out $(B)/cli/main.o,$(CLI_OBJECTS))
	@rm -f $@
	$(call say,collect,$@) ar rcs $@ $^

# In the tests these fail when a test wants it: tests/scarce.h, tests/scarce_base.h.
SCARCE = $(addprefix memory_,create resize reserve copy_text destroy) fft_create fft_destroy \
    fftw_alloc_complex gsl_matrix_alloc gsl_vector_alloc gsl_interp_alloc gsl_multifit_linear_alloc \
    gsl_multifit_nlinear_alloc gsl_root_fsolver_alloc gsl_integration_glfixed_table_alloc \
    gsl_integration_workspace_alloc \
    $(addprefix sqlite3_,open open_v2 prepare_v3 step exec bind_text bind_blob64 bind_int64 bind_double bind_null \
    backup_init backup_step backup_finish errcode errmsg)

$(B)/tests/run: $(TEST_OBJECTS) $(B)/cli.a $(B)/modules.a
	$(call say,link,$@) $(LINK) $(SCARCE:%=-Wl,--wrap=%) -o $@.part $^ $(LIBRARY_LIBS) $(CHECK_LIBS) -lm && mv $@.part $@

# The fuzz targets with the plain compiler, which replays what stands in tests/fuzz/seeds; and each
# with libFuzzer.
$(B)/fuzz/replay: $(FUZZ_OBJECTS) $(B)/tests/fuzz/fuzz_replay.o $(B)/tests/fuzz/fuzz_support.o $(B)/cli.a $(B)/modules.a
	@mkdir -p $(@D)
	$(call say,link,$@) $(LINK) -o $@.part $^ $(LIBRARY_LIBS) -lm && mv $@.part $@

$(FUZZ_READERS:%=$(B)/fuzz/%): $(B)/fuzz/%: $(B)/tests/fuzz/%.o $(B)/tests/fuzz/fuzz_support.o $(B)/cli.a $(B)/modules.a
	@mkdir -p $(@D)
	$(call say,link,$@) $(LINK) -fsanitize=fuzzer -o $@ $^ $(LIBRARY_LIBS) -lm

# Lets one call fail, for tests/test_faults.py; a plain library whatever the variant.
$(B)/tests/run: | $(B)/tests/faults.so
$(B)/tests/faults.so: tests/faults/faults.c Makefile
	@mkdir -p $(@D)
	$(call say,link,$@) $(CC) -std=c11 -D_GNU_SOURCE $(WARNINGS) -O2 -fPIC -fvisibility=hidden -fno-builtin -shared -o $@ $<

# For others: one object in which only the public names are left, so that no name of ours can meet
# one of theirs.
$(B)/liblodecard.a: $(LIBRARY_OBJECTS)
	@rm -f $@
	$(call say,collect,$@) ld -r -o $(B)/liblodecard.o $^ && \
	    objcopy --localize-hidden $(B)/liblodecard.o && ar rcs $@ $(B)/liblodecard.o

$(B)/$(SONAME): $(LIBRARY_OBJECTS)
	$(call say,link,$@) $(LINK) -shared -Wl,-soname,$(SONAME) $(if $(filter san,$(VARIANT)),,-Wl,-z,defs) -o $@ $^ \
	    $(LIBRARY_LIBS) -lm

# The manual: a page of the program, one a command, and what completes command lines in bash and zsh.
$(B)/manual/lodecard.1: $(B)/lodecard
	@rm -rf $(@D) && mkdir -p $(@D)
	$(call say,write,$(@D)) for command in $$($(B)/lodecard help --list); do \
	    $(B)/lodecard help $$command --manual >$(@D)/lodecard-$$command.1 || exit 1; done
	@$(B)/lodecard help --completion bash >$(@D)/lodecard.bash
	@$(B)/lodecard help --completion zsh >$(@D)/_lodecard
	@$(B)/lodecard help --manual >$@

# --- what people call --------------------------------------------------------------------------

# Packages come first, and a make of its own afterwards, which then finds them.
JOBS = $(if $(filter -j%,$(MAKEFLAGS)),,-j$(shell nproc))

demo: deps-build
	@$(MAKE) --no-print-directory $(JOBS) all
	@PATH="$(CURDIR)/$(B):$$PATH" sh samples/demo.sh $(BUILD)/demo

test: deps-build deps-test
	@$(MAKE) --no-print-directory $(JOBS) all $(B)/tests/run $(B)/fuzz/replay
	@PYTHON=$(PYTHON) tests/tools/run-tests $(B) $(TESTS)

COVERAGE = 2000
coverage: deps-build deps-test
	@$(MAKE) --no-print-directory $(JOBS) all
	@LODECARD=$(CURDIR)/$(B)/lodecard $(PYTHON) tests/world/coverage.py $(COVERAGE)

COUNT = 100
mutants: deps-build deps-test
	@$(MAKE) --no-print-directory $(JOBS) $(B)/lodecard $(B)/tests/run
	@nice $(PYTHON) tests/tools/mutate.py $(B) --seed $(SEED) --count $(COUNT) $(AGAIN) \
	    --link '$(SCARCE:%=-Wl,--wrap=%) $(LIBRARY_LIBS) $(CHECK_LIBS) -lm -fopenmp -pthread'

# Some minutes; the table of docs/qualify.md.
LOTS = 200000
lots: deps-build deps-test
	@$(MAKE) --no-print-directory $(JOBS) $(B)/tests/run
	@LODECARD_LOTS=$(LOTS) $(B)/tests/run held_out

# Left out: the statistics of many captures, which reach nothing that the others do not; and the faults, for what writes
# the counts when a process ends lives in it and meets them, too. The table appears also when a test fails.
LINES = bound tests/world/test_bound.py tests/world/test_coverage.py tests/world/test_against_script.py \
    tests/test_faults.py
coverage-lines coverage-check: deps-build deps-test deps-lint
	@$(MAKE) --no-print-directory $(JOBS) VARIANT=coverage all $(BUILD)/coverage/tests/run $(BUILD)/coverage/fuzz/replay
	@find $(BUILD)/coverage -name '*.gcda' -delete
	@CK_TIMEOUT_MULTIPLIER=10 SKIP="$(LINES)" PYTHON=$(PYTHON) tests/tools/run-tests $(BUILD)/coverage $(TESTS); tests=$$?; \
	$(PYTHON) tests/tools/lines.py $(BUILD)/coverage $(if $(filter %-check,$@),--check) && exit $$tests

bench: deps-build
	@$(MAKE) --no-print-directory $(JOBS) all $(B)/bench/generate $(B)/bench/limit $(B)/bench/ledger $(B)/bench/models \
	    $(B)/bench/table
	@$(PYTHON) tests/bench/run.py $(B) $(BENCH)

SECONDS = 60
READERS = $(FUZZ_READERS)
FUZZ = fuzz$(if $(QUICK),-quick)
fuzz: deps-build deps-lint
	@$(MAKE) --no-print-directory $(JOBS) VARIANT=$(FUZZ) CC=clang $(READERS:%=$(BUILD)/$(FUZZ)/fuzz/%)
	@tests/tools/run-fuzz $(BUILD)/$(FUZZ) $(if $(RUNS),runs=$(RUNS),seconds=$(SECONDS)) $(READERS)

SEED = 1
hostile: all
	@LODECARD=$(CURDIR)/$(B)/lodecard $(PYTHON) tests/fuzz/hostile.py --runs $(or $(RUNS),1e5) --seed $(SEED) \
	    --jobs 2 --keep $(BUILD)/hostile

deep: deps-build deps-test deps-lint
	@tests/tools/deep $(DEEP)

# Are faults found, and clean captures left alone? Some twenty minutes; the tables of docs/notes.md.
faults: all
	@LODECARD=$(CURDIR)/$(B)/lodecard $(PYTHON) tests/world/faults.py

$(B)/bench/ledger $(B)/bench/models $(B)/bench/table: $(B)/bench/%: tests/bench/%.c $(B)/modules.a Makefile
	@mkdir -p $(@D)
	$(call say,compile,$<) $(COMPILE) -o $@ $< $(B)/modules.a $(LIBRARY_LIBS) -lm

$(B)/bench/generate $(B)/bench/limit: $(B)/bench/%: tests/bench/%.c Makefile
	@mkdir -p $(@D)
	$(call say,compile,$<) $(COMPILE) -o $@ $< $(call ask,--cflags --libs sndfile libcrypto) -lm

pages: deps-build
	@tests/tools/install-packages $(PAGES_PACKAGES)
	@$(MAKE) --no-print-directory $(JOBS) all
	@tests/pages/run $(B)

golden: all
	@BUILT=$(B) $(PYTHON) tests/tools/examples.py rewrite \
	    $(wildcard tests/golden/*.txt *.md docs/*.md docs/manual/*.md)

SAMPLE = samples/sound-card/r17-60kam-20hz.flac
SAMPLE_CARD = samples/card/rs36-h2291.json
DECIDE = --limits samples/qualify/limits.yaml
SIGNED = --laboratory 'Motor works, magnetics bench'
reports: all
	$(B)/lodecard loop $(SAMPLE) --json reports/sound-card.json --points 64 \
	    --plot reports/sound-card.svg --waveforms --plot-budget reports/budget.svg >reports/sound-card.txt
	$(B)/lodecard series samples/series/loops.jsonl --plot reports/series.svg >reports/series.txt
	$(B)/lodecard series $(SAMPLE) --model jiles-atherton-1992 --plot reports/model.svg >reports/model.txt
	$(B)/lodecard series samples/series/loops.jsonl --json - | $(B)/lodecard motor - \
	    --pole-pairs 2 --supply 50 --outer-diameter '40 mm' --inner-diameter '32 mm' \
	    --height '6 mm' --field '30 kA/m' --load-torque '35 mN m' --plot reports/torque-slip.svg >reports/torque-slip.txt
	$(B)/lodecard report loop $(SAMPLE) --number LR-0042 --laboratory 'Motor works, magnetics bench' \
	    -o reports/loop.pdf -o reports/loop.html >/dev/null
	$(B)/lodecard report series samples/series/loops.jsonl --at '1 T' --model jiles-atherton-1992 --number ST-0017 \
	    -o reports/steel.pdf -o reports/steel.html >/dev/null
	$(B)/lodecard card export $(SAMPLE_CARD) --to csv --set table=losses -o reports/card/losses.csv
	$(B)/lodecard card export $(SAMPLE_CARD) --to getdp --set name=steel -o reports/card/steel.pro
	$(B)/lodecard card export $(SAMPLE_CARD) --to html -o reports/card/sheet.html
	$(B)/lodecard card export $(SAMPLE_CARD) --to modelica --set name=Steel -o reports/card/Steel.mo
	$(B)/lodecard card export $(SAMPLE_CARD) --to spice --set name=steel -o reports/card/steel.lib
	$(B)/lodecard report lot $(DECIDE) samples/qualify/H2305/*/*.flac --number QL-0107 --date 2026-11-25 \
	    $(SIGNED) -o reports/lot.pdf -o reports/lot.html || [ $$? = 11 ]
	$(B)/lodecard report compare $(DECIDE) --figure coercivity --margin '0.5 kA/m' --figure remanence \
	    --margin '20 mT' samples/qualify/H2291/*/*.flac samples/qualify/C7/*/*.flac --number QC-0031 \
	    --date 2026-11-25 $(SIGNED) -o reports/comparison.pdf -o reports/comparison.html
	$(B)/lodecard report gauge $(DECIDE) samples/gauge/loops.jsonl --number QG-0012 --date 2026-11-25 \
	    $(SIGNED) -o reports/gauge.pdf -o reports/gauge.html

layers:
	@awk -f tests/tools/layers.awk src/layers.txt $(wildcard src/*/*.h) $(SOURCES)
	@echo "layers: every include is allowed"

format:
	clang-format -i $(FORMATTED)

format-check:
	clang-format --dry-run --Werror $(FORMATTED)

deps-build:
	@tests/tools/install-packages $(BUILD_PACKAGES)
deps-test:
	@tests/tools/install-packages $(TEST_PACKAGES)
deps-lint:
	@tests/tools/install-packages $(LINT_PACKAGES)

TO = $(DESTDIR)$(PREFIX)
install: all
	install -d $(TO)/bin $(TO)/lib/pkgconfig $(TO)/include $(TO)/share/man/man1 \
	    $(TO)/share/bash-completion/completions $(TO)/share/zsh/site-functions
	install -m 755 $(B)/lodecard $(TO)/bin/
	install -m 644 src/liblodecard/lodecard.h $(TO)/include/
	install -m 644 $(B)/liblodecard.a $(B)/$(SONAME) $(TO)/lib/
	ln -sf $(SONAME) $(TO)/lib/liblodecard.so
	sed 's|@PREFIX@|$(PREFIX)|; s|@VERSION@|$(VERSION)|; s|@LIBRARIES@|$(LIBRARIES)|' \
	    src/liblodecard/lodecard.pc.in >$(TO)/lib/pkgconfig/lodecard.pc
	install -m 644 $(B)/manual/*.1 $(TO)/share/man/man1/
	install -m 644 $(B)/manual/lodecard.bash $(TO)/share/bash-completion/completions/lodecard
	install -m 644 $(B)/manual/_lodecard $(TO)/share/zsh/site-functions/
	@[ -n "$(DESTDIR)" ] || [ "$$(id -u)" != 0 ] || ldconfig

uninstall:
	rm -f $(TO)/bin/lodecard $(TO)/include/lodecard.h $(TO)/lib/liblodecard.a \
	    $(TO)/lib/$(SONAME) $(TO)/lib/liblodecard.so $(TO)/lib/pkgconfig/lodecard.pc \
	    $(TO)/share/man/man1/lodecard.1 $(TO)/share/man/man1/lodecard-*.1 \
	    $(TO)/share/bash-completion/completions/lodecard $(TO)/share/zsh/site-functions/_lodecard

clean:
	rm -rf $(BUILD)

.PHONY: all objects demo test coverage coverage-lines coverage-check lots mutants bench fuzz hostile deep faults golden reports pages layers format format-check \
    deps-build deps-test deps-lint install uninstall clean
.DELETE_ON_ERROR:
-include $(OBJECTS:.o=.d) $(TEST_OBJECTS:.o=.d) $(FUZZ_OBJECTS:.o=.d)
