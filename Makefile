# Lodecard
#
#   make all            the program and the library, into build/$(VARIANT)
#
# Settings: VARIANT=release|debug|san, WERROR=1, CC.

VARIANT ?= release
CC = gcc

ifeq ($(filter $(VARIANT),release debug san),)
$(error VARIANT is '$(VARIANT)': it must be release, debug or san)
endif

OPTIMIZE_release = -O2 -DNDEBUG
OPTIMIZE_debug = -Og -g
OPTIMIZE_san = -O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined -fno-sanitize-recover=all

WARNINGS = -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wno-sign-conversion \
    -Wstrict-prototypes -Wmissing-prototypes
ifeq ($(WERROR),1)
WARNINGS += -Werror
endif

LIBRARY_PACKAGES = sndfile fftw3 gsl yaml-0.1 cairo pangocairo libcrypto

B = build/$(VARIANT)
MODULES = $(filter-out cli,$(notdir $(patsubst %/,%,$(wildcard src/*/))))
LIBRARY_OBJECTS = $(patsubst src/%.c,$(B)/%.o,$(wildcard $(MODULES:%=src/%/*.c)))
CLI_OBJECTS = $(patsubst src/%.c,$(B)/%.o,$(wildcard src/cli/*.c))
TEST_OBJECTS = $(patsubst %.c,$(B)/%.o,$(wildcard tests/*.c))

CFLAGS ?= $(OPTIMIZE_$(VARIANT))
ALL_CFLAGS = -std=c11 -D_GNU_SOURCE -Isrc $(WARNINGS) $(CFLAGS) -ffp-contract=off -fopenmp -pthread \
    -fPIC -fvisibility=hidden -MMD -MP
LIBRARY_CFLAGS = $(shell pkg-config --cflags $(LIBRARY_PACKAGES))
LIBRARY_LIBS = $(shell pkg-config --libs $(LIBRARY_PACKAGES))

all: $(B)/liblodecard.a $(if $(CLI_OBJECTS),$(B)/lodecard) $(if $(TEST_OBJECTS),$(B)/tests/run)

$(B)/%.o: src/%.c Makefile
	@mkdir -p $(@D)
	$(CC) $(ALL_CFLAGS) $(LIBRARY_CFLAGS) -c -o $@ $<

$(B)/tests/%.o: tests/%.c Makefile
	@mkdir -p $(@D)
	$(CC) $(ALL_CFLAGS) -Itests $(LIBRARY_CFLAGS) $(shell pkg-config --cflags check) -c -o $@ $<

$(B)/liblodecard.a: $(LIBRARY_OBJECTS)
	rm -f $@
	ar rcs $@ $^

$(B)/lodecard: $(CLI_OBJECTS) $(B)/liblodecard.a
	$(CC) $(ALL_CFLAGS) $(LDFLAGS) -o $@ $^ $(LIBRARY_LIBS) -lm

$(B)/tests/run: $(TEST_OBJECTS) $(B)/liblodecard.a
	$(CC) $(ALL_CFLAGS) $(LDFLAGS) -o $@ $^ $(LIBRARY_LIBS) $(shell pkg-config --libs check) -lm

clean:
	rm -rf build

.PHONY: all clean
-include $(wildcard $(B)/*/*.d)
