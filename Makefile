# SPDX-License-Identifier: GPL-3.0-or-later
#
# make          builds build/assize
# make demo     installs what it needs, builds, audits the sample site
# make test     installs what it needs, runs every test
# make lint     checks format, layers, warnings of both compilers, static analysis, rules
# make soak     runs the long forms of the tests, for hours; ONLY="hostile/kills" these alone
# make fuzz     gives made-up files to every parser, each TIME=60 seconds; ONLY="csv log" these alone
# make bench SIZE=M     measures it beside sqlite3 and DuckDB on 100 made-up sites (S: 1, L: 400), kept in DATA=FOLDER
# make install PREFIX=/usr/local, make docs, make format, make coverage, make clean
#
# VARIANT=release (build/), debug, sanitize, thread, coverage, fuzz (build/VARIANT/); BUILD=DIR builds elsewhere; CC=clang works too.

VARIANT ?= release
ifeq ($(origin CC),default)
CC = $(if $(filter fuzz,$(VARIANT)),clang,gcc)
endif
BUILD ?= build
# One spelling, or what was built under the other would not be seen to be out of date.
override BUILD := $(patsubst $(CURDIR)/%,%,$(abspath $(BUILD)))
PREFIX ?= /usr/local
WERROR ?= -Werror

LIBRARIES = lua5.4 sqlite3 yaml-0.1 libcrypto gsl pangocairo libqpdf xlsxwriter

ifeq ($(VARIANT),release)
OUT = $(BUILD)
VARIANT_FLAGS = -O3 -g
else
OUT = $(BUILD)/$(VARIANT)
endif
ifeq ($(VARIANT),debug)
VARIANT_FLAGS = -O0 -g3 -DSLOWER=40
endif
ifeq ($(VARIANT),sanitize)
VARIANT_FLAGS = -O1 -g -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer -DSLOWER=40
endif
ifeq ($(VARIANT),thread)
VARIANT_FLAGS = -O1 -g -fsanitize=thread -fno-omit-frame-pointer -DSLOWER=40
endif
ifeq ($(VARIANT),coverage)
VARIANT_FLAGS = -O0 -g --coverage -DSLOWER=40
endif
ifeq ($(VARIANT),fuzz)
VARIANT_FLAGS = -O1 -g -fsanitize=fuzzer-no-link,address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer \
    -DFUZZING_BUILD_MODE_UNSAFE_FOR_PRODUCTION
endif
ifndef VARIANT_FLAGS
$(error VARIANT=$(VARIANT) is none of release, debug, sanitize, thread, coverage, fuzz)
endif

# Asked once, and only when something is compiled: `make demo` installs pkg-config first.
LIBRARY_CFLAGS = $(eval LIBRARY_CFLAGS := $$(shell pkg-config --cflags $(LIBRARIES)))$(LIBRARY_CFLAGS)
LIBRARY_LINKS = $(eval LIBRARY_LINKS := $$(shell pkg-config --libs $(LIBRARIES)))$(LIBRARY_LINKS)

LANGUAGE = -std=c11 -D_POSIX_C_SOURCE=200809L -I engine
WARNINGS = -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wno-sign-conversion $(WERROR)
COMPILE = $(CC) $(LANGUAGE) $(WARNINGS) $(VARIANT_FLAGS) -pthread $(CPPFLAGS) $(CFLAGS)
LINK = $(CC) $(VARIANT_FLAGS) -pthread $(CFLAGS) $(LDFLAGS)

# V=1 shows whole commands.
SAY = $(if $(V),,@echo '  $(1) $(2)';)

# Every .c file of these folders is built: a new one needs no line here.
ENGINE_SOURCES := $(sort $(shell find engine -name '*.c'))
UNIT_SOURCES := $(sort $(wildcard tests/unit/*/*.c))
FUZZ_SOURCES := $(sort $(wildcard tests/hostile/fuzz/*.c))
OBJECTS = $(patsubst %.c,$(OUT)/objects/%.o,$(ENGINE_SOURCES))
LIBRARY_OBJECTS = $(filter-out $(OUT)/objects/engine/main.o,$(OBJECTS))
UNIT_OBJECTS = $(patsubst %.c,$(OUT)/objects/%.o,$(UNIT_SOURCES))
FUZZ_COMMON = $(OUT)/objects/tests/hostile/fuzz/common

all: $(OUT)/assize $(OUT)/rules $(OUT)/methods $(OUT)/starter

# The rulebook, the example methods and what a new site begins with are looked for beside the executable: links in a
# build folder, ../share/assize/ when installed.
$(OUT)/rules $(OUT)/methods $(OUT)/starter: | $(OUT)/flags
	ln -sfn '$(CURDIR)/$(FOLDER)' $@
$(OUT)/rules: FOLDER = rules
$(OUT)/methods: FOLDER = sample-site/methods
$(OUT)/starter: FOLDER = docs/starter

$(OUT)/assize: $(OUT)/objects/engine/main.o $(OUT)/libassize.a
	$(call SAY,link,$@)$(LINK) -o $@ $^ $(LIBRARY_LINKS)

$(OUT)/libassize.a: $(LIBRARY_OBJECTS) $(OUT)/sources
	@rm -f $@
	$(call SAY,archive,$@)$(AR) rcs $@ $(LIBRARY_OBJECTS)

unit: $(OUT)/unit-tests
$(OUT)/unit-tests: $(UNIT_OBJECTS) $(OUT)/libassize.a
	$(call SAY,link,$@)$(LINK) -o $@ $^ $(LIBRARY_LINKS) -lcriterion

# A program a file of tests/hostile/fuzz. VARIANT=fuzz makes up its inputs; all others take files that are there.
fuzzers: $(patsubst tests/hostile/fuzz/%.c,$(OUT)/fuzzers/%,$(FUZZ_SOURCES)) $(OUT)/fuzzers/make-dictionary
$(OUT)/fuzzers/%: $(OUT)/objects/tests/hostile/fuzz/%.o $(FUZZ_COMMON)/fuzz.o $(OUT)/libassize.a \
    $(if $(filter fuzz,$(VARIANT)),,$(FUZZ_COMMON)/replay.o)
	@mkdir -p $(@D)
	$(LINK) $(if $(filter fuzz,$(VARIANT)),-fsanitize=fuzzer) -o $@ $(filter %.o,$^) $(OUT)/libassize.a $(LIBRARY_LINKS)
$(OUT)/fuzzers/make-dictionary: $(FUZZ_COMMON)/make_dictionary.o $(OUT)/libassize.a
	@mkdir -p $(@D)
	$(call SAY,link,$@)$(LINK) -o $@ $^ $(LIBRARY_LINKS)

$(OUT)/objects/%.o: %.c $(OUT)/flags
	@mkdir -p $(@D)
	$(call SAY,compile,$<)$(COMPILE) $(LIBRARY_CFLAGS) -MMD -MP -c -o $@ $<

$(OUT)/objects/tests/%.o: WARNINGS += -Wno-pedantic

# Two small files that change only when the compiler or its flags do, or the set of sources.
$(OUT)/flags: FORCE
	@pkg-config --exists --print-errors $(LIBRARIES) || { echo 'run scripts/setup first' >&2; exit 1; }
	@mkdir -p $(@D)
	@echo '$(COMPILE) $(LDFLAGS) $(LIBRARIES)' | cmp -s - $@ || echo '$(COMPILE) $(LDFLAGS) $(LIBRARIES)' > $@
$(OUT)/sources: $(OUT)/flags FORCE
	@echo '$(ENGINE_SOURCES)' | cmp -s - $@ || echo '$(ENGINE_SOURCES)' > $@

demo:
	scripts/setup
	$(MAKE) all
	$(OUT)/assize audit sample-site --month 2026-10 --today 2026-11-02 || [ $$? -eq 1 ]
	@echo
	@echo 'The pages of the audit are in sample-site/reports/2026-10/; open findings.html there in a browser.'

test:
	scripts/setup --test
	scripts/run-tests

soak:
	scripts/setup --test
	scripts/soak $(ONLY)

TIME ?= 60
fuzz:
	scripts/setup --test
	$(MAKE) VARIANT=fuzz fuzzers
	tests/hostile/fuzz/run-fuzzers '$(BUILD)/fuzz' $(TIME) $(ONLY)

lint:
	scripts/setup --test
	scripts/lint

format:
	find engine tests -name '*.[ch]' -exec clang-format -i {} +

coverage:
	scripts/setup --test
	BUILD='$(BUILD)' scripts/check-coverage

SIZE ?= S
DATA ?= $(or $(TMPDIR),/tmp)/assize-bench
bench:
	scripts/setup --test
	$(MAKE) all $(OUT)/bench/judge $(OUT)/bench/floor $(OUT)/bench/took
	scripts/bench/run $(SIZE) --build '$(OUT)' --data '$(DATA)'
$(OUT)/bench/took: scripts/bench/took.c # without libraries: it has to be small
	@mkdir -p $(@D)
	$(COMPILE) -o $@ $<
$(OUT)/bench/%: scripts/bench/%.c $(OUT)/libassize.a
	@mkdir -p $(@D)
	$(COMPILE) $(LIBRARY_CFLAGS) -o $@ $^ $(LIBRARY_LINKS)

install: all
	install -D $(OUT)/assize '$(DESTDIR)$(PREFIX)/bin/assize'
	install -d '$(DESTDIR)$(PREFIX)/share/assize'
	for folder in rules sample-site/methods docs/starter; do \
	    to='$(DESTDIR)$(PREFIX)/share/assize/'$${folder##*/}; rm -rf "$$to" && cp -R $$folder "$$to" || exit 1; done
	install -D -m 644 docs/man/assize.1 '$(DESTDIR)$(PREFIX)/share/man/man1/assize.1'
	install -D -m 644 docs/completion/assize '$(DESTDIR)$(PREFIX)/share/bash-completion/completions/assize'

# Pages of docs/ that are made from tables of the engine; tests/docs/run checks that they are up to date.
printers: $(addprefix $(OUT)/make-,dictionary catalogue manual completion)
docs: printers
	$(OUT)/make-dictionary > docs/records.md
	$(OUT)/make-catalogue > docs/catalogue.md
	$(OUT)/make-manual > docs/man/assize.1
	$(OUT)/make-completion > docs/completion/assize
$(OUT)/make-%: scripts/make_%.c $(OUT)/libassize.a
	$(call SAY,compile,$<)$(COMPILE) $(LIBRARY_CFLAGS) -o $@ $^ $(LIBRARY_LINKS)

clean:
	rm -rf '$(BUILD)'

FORCE:
.SECONDARY: # what is on the way to a program is kept
.PHONY: all unit fuzzers demo test soak fuzz lint format coverage bench install docs printers clean FORCE
.DELETE_ON_ERROR:
-include $(OBJECTS:.o=.d) $(UNIT_OBJECTS:.o=.d) $(wildcard $(OUT)/objects/tests/hostile/fuzz/*.d)
