# Startwright. `make` builds build/startwright, `make demo` shows it at work, `make test` tests it.
# What is missing on the machine is installed first (tests/tools/setup).
BUILD ?= build
# One name for one folder: what each object was made from is noted under the name it was made by.
override BUILD := $(patsubst $(CURDIR)/%,%,$(abspath $(BUILD)))
PREFIX ?= /usr/local
DESTDIR ?=
CFLAGS ?= -O2
LDFLAGS ?=
WERROR ?=
SANITIZE ?=
ifeq ($(origin CC),default)
CC := gcc
endif

.DEFAULT_GOAL := all
.DELETE_ON_ERROR:
.SUFFIXES:
MAKEFLAGS += --no-builtin-rules

, := ,
GEN := $(BUILD)/gen
PROGRAM := $(BUILD)/startwright
PRESS := $(BUILD)/startwright-press.so
BINDER := $(BUILD)/startwright-binder.so
# The folder of the typeface of the cards (Debian: fonts-b612).
FACES ?= /usr/share/fonts/opentype/b612
# For the words with characters that it lacks (Debian: fonts-dejavu-core).
OTHER_FACES ?= /usr/share/fonts/truetype/dejavu

# ---- what there is
PRESS_SOURCES := $(sort $(wildcard compiler/press/*.c))
BINDER_SOURCES := $(sort $(wildcard compiler/binder/*.c))
SOURCES := $(filter-out $(PRESS_SOURCES) $(BINDER_SOURCES),$(sort $(wildcard compiler/*/*.c)))
HEADERS := $(sort $(wildcard compiler/*/*.h))
LIBRARY := $(shell LC_ALL=C; export LC_ALL; find stdlib -name '*.start' | sed 's/\.start$$//' | sort | sed 's/$$/.start/')
OUTLINES := $(sort $(wildcard compiler/tool/outline/*.text))
TWINS := $(sort $(wildcard tests/gates/*.case))
UNIT_TESTS := $(patsubst tests/unit/%.c,$(BUILD)/unit/%,$(sort $(wildcard tests/unit/*.c)))

HAND_OBJECTS := $(SOURCES:compiler/%.c=$(BUILD)/%.o)
MAIN_OBJECT := $(BUILD)/tool/main.o
PREPARE_OBJECT := $(BUILD)/tool/prepare.o
TOOL_OBJECTS := $(filter-out $(PREPARE_OBJECT),$(filter $(BUILD)/tool/%,$(HAND_OBJECTS))) $(GEN)/why.o $(GEN)/why_size.o
READING_OBJECTS := $(filter $(BUILD)/base/% $(BUILD)/front/%,$(HAND_OBJECTS)) \
    $(GEN)/lexer.o $(GEN)/parser.o $(GEN)/library.o $(GEN)/library_table.o
LIBRARY_OBJECTS := $(READING_OBJECTS) $(filter-out $(BUILD)/tool/% $(READING_OBJECTS),$(HAND_OBJECTS)) $(GEN)/prepared.o $(GEN)/step.o $(GEN)/card_style.o

# ---- how it is compiled
WARNINGS := -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wstrict-prototypes -Wmissing-prototypes -Wvla -Wundef \
    -Wformat=2 -Wswitch-enum -Wcast-qual -Wwrite-strings $(if $(WERROR),-Werror)
SANITIZERS := $(if $(SANITIZE),-g -fsanitize=$(if $(filter thread,$(SANITIZE)),thread,address$(,)undefined) -fno-sanitize-recover=all -fno-omit-frame-pointer)
FLAGS := -std=c11 $(CFLAGS) $(WARNINGS) $(SANITIZERS) -fno-common -fvisibility=hidden -D_POSIX_C_SOURCE=200809L
COMPILE := $(CC) $(FLAGS) -Icompiler -I$(GEN) -MMD -MP
# Tables of pointers need no relocation at every start in a program that is not moved.
LINK_FLAGS := $(CFLAGS) $(SANITIZERS) -Wl,-O1 -Wl,--as-needed -no-pie $(LDFLAGS)
LINK := $(CC) $(LINK_FLAGS)

# One short line a step; the whole commands with V=1.
V ?=
say = $(if $(V),,@echo '  $(1)	$(2)'; )

.PHONY: all demo test browse oracle mutate weakened unchanged readers threads together looks install format lint sanitize bench clean setup FORCE
all: $(PROGRAM) $(PRESS) $(BINDER)

$(PROGRAM): $(LIBRARY_OBJECTS) $(TOOL_OBJECTS)
	$(call say,LINK,$@)$(LINK) -o $@ $^ -lm

# A change of the flags rebuilds everything; nothing else looks at this file.
$(BUILD)/flags: FORCE | $(BUILD)/setup-build
	@mkdir -p $(@D)
	@echo '$(CC) $(FLAGS) $(LINK_FLAGS)' | cmp -s - $@ || echo '$(CC) $(FLAGS) $(LINK_FLAGS)' > $@

$(BUILD)/setup-%:
	@tests/tools/setup $*
	@mkdir -p $(@D)
	@touch $@

$(HAND_OBJECTS): $(BUILD)/%.o: compiler/%.c $(BUILD)/flags
	@mkdir -p $(@D)
	$(call say,CC,$<)$(COMPILE) -c -o $@ $<

# The front end's hand-written files may include what bison and flex write.
$(filter $(BUILD)/front/%,$(HAND_OBJECTS)): | $(GEN)/parser.h $(GEN)/lexer.h

$(GEN)/parser.c $(GEN)/parser.h &: grammar/parser.y | $(BUILD)/setup-build
	@mkdir -p $(GEN)
	$(call say,BISON,$<)bison -Wall -Wcounterexamples -Werror --header=$(GEN)/parser.h -o $(GEN)/parser.c $<

# Full tables: larger, and a third faster.
$(GEN)/lexer.c $(GEN)/lexer.h &: grammar/lexer.l | $(BUILD)/setup-build
	@mkdir -p $(GEN)
	$(call say,FLEX,$<)flex -Cf --header-file=$(GEN)/lexer.h -o $(GEN)/lexer.c $<

$(GEN)/lexer.o $(GEN)/parser.o: $(GEN)/%.o: $(GEN)/%.c $(BUILD)/flags | $(GEN)/parser.h $(GEN)/lexer.h
	$(call say,CC,$<)$(COMPILE) -c -o $@ $<

# ---- bytes inside the program: the library and the pages of `why`
# $(call embed,SYMBOL,FILE): assembler lines that put FILE and a NUL behind the symbol.
embed = printf '.globl %s\n.hidden %s\n%s:\n.incbin "%s"\n.byte 0\n' $(1) $(1) $(1) $(2)
EMBED_HEAD = echo '.section .note.GNU-stack,"",@progbits'; echo '.section .rodata'

# Changes when a file of the library comes or goes.
$(GEN)/library.list: FORCE
	@mkdir -p $(GEN)
	@echo '$(LIBRARY)' | cmp -s - $@ || echo '$(LIBRARY)' > $@

$(GEN)/library.S $(GEN)/library_table.c &: $(LIBRARY) $(GEN)/library.list
	@{ $(EMBED_HEAD); n=0; for file in $(LIBRARY); do \
	    $(call embed,library_text_$$n,$$file); n=$$((n + 1)); done; } > $(GEN)/library.S
	@{ echo '#include "workspace/library.h"'; n=0; for file in $(LIBRARY); do \
	    echo "extern const char library_text_$$n[];"; n=$$((n + 1)); done; \
	    echo 'const LibraryFile library_files[] = {'; n=0; for file in $(LIBRARY); do \
	    path=$${file#stdlib/}; echo "    {\"$${path%.start}\", library_text_$$n, $$(wc -c < $$file)},"; \
	    n=$$((n + 1)); done; echo '};'; \
	    echo 'const size_t library_file_count = sizeof library_files / sizeof *library_files;'; \
	} > $(GEN)/library_table.c

# The twins that test the gates are also the examples of their pages.
$(GEN)/twins.text: $(TWINS)
	@mkdir -p $(GEN)
	@for file in $(TWINS); do name=$${file##*/}; echo "=== $${name%.case}"; cat $$file; done > $@

# The skeletons of new aircraft.
$(GEN)/outline.text: $(OUTLINES)
	@mkdir -p $(GEN)
	@cat $(OUTLINES) > $@

$(GEN)/why.S $(GEN)/why_size.c &: compiler/tool/why.text $(GEN)/twins.text $(GEN)/outline.text
	@mkdir -p $(GEN)
	@{ $(EMBED_HEAD); $(call embed,why_text,$<); $(call embed,twins_text,$(GEN)/twins.text); \
	    $(call embed,outline_text,$(GEN)/outline.text); } > $(GEN)/why.S
	@{ echo '#include "tool/outline.h"'; echo '#include "tool/why.h"'; echo "const size_t why_text_size = $$(wc -c < $<);"; \
	    echo "const size_t twins_text_size = $$(wc -c < $(GEN)/twins.text);"; \
	    echo "const size_t outline_text_size = $$(wc -c < $(GEN)/outline.text);"; } > $(GEN)/why_size.c

$(GEN)/step.S: compiler/back/table_step.text
	@mkdir -p $(GEN)
	@{ $(EMBED_HEAD); $(call embed,table_step_text,$<); } > $@

$(GEN)/step.o: compiler/back/table_step.text

# The style of the cards for screens.
$(GEN)/card_style.S: compiler/back/card.css
	@mkdir -p $(GEN)
	@{ $(EMBED_HEAD); $(call embed,card_style,$<); } > $@

$(GEN)/card_style.o: compiler/back/card.css
$(GEN)/library.o: $(LIBRARY)
$(GEN)/why.o: compiler/tool/why.text $(GEN)/twins.text $(GEN)/outline.text
# The library is read once, here: the program finds its syntax trees ready. It is moved high up in memory, so that no short text of the
# library ("ELD" is 0x444c45) can pass for an address of its own.
$(BUILD)/prepare: $(PREPARE_OBJECT) $(READING_OBJECTS)
	$(call say,LINK,$@)$(CC) $(filter-out -no-pie,$(LINK_FLAGS)) -pie -o $@ $^

$(GEN)/prepared.S: $(BUILD)/prepare
	$(call say,PREPARE,stdlib)$< > $@

$(GEN)/prepared.o $(GEN)/library.o $(GEN)/why.o $(GEN)/step.o $(GEN)/card_style.o: %.o: %.S | $(BUILD)/setup-build
	$(call say,AS,$<)$(CC) -c -o $@ $<
$(GEN)/library_table.o $(GEN)/why_size.o: %.o: %.c $(BUILD)/flags
	$(call say,CC,$<)$(COMPILE) -c -o $@ $<

# ---- the press: a module that the program opens when it draws the first card; what it needs of base/ is in it, too
PRESS_OBJECTS := $(PRESS_SOURCES:compiler/press/%.c=$(BUILD)/press/%.o)
PRESS_BASE := $(addprefix $(BUILD)/press/,arena.o str.o utf8.o)
PRESS_COMPILE = $(COMPILE) -fPIC $$(pkg-config --cflags cairo-ft cairo-pdf freetype2 harfbuzz-subset | sed 's/-I/-isystem /g')

$(PRESS_OBJECTS): $(BUILD)/press/%.o: compiler/press/%.c $(BUILD)/flags
	@mkdir -p $(@D)
	$(call say,CC,$<)$(PRESS_COMPILE) -c -o $@ $<

$(PRESS_BASE): $(BUILD)/press/%.o: compiler/base/%.c $(BUILD)/flags
	@mkdir -p $(@D)
	$(call say,CC,$<)$(COMPILE) -fPIC -c -o $@ $<

# The typefaces are pinned: every line was measured with these very files.
face_file = $(call embed,face_$(1),$(2)); printf '.globl face_%s_end\n.hidden face_%s_end\nface_%s_end:\n' $(1) $(1) $(1)
# $(call pinned,NAME,FOLDER,PACKAGE=VERSION): the files of that name, by their digests.
pinned = (cd $(2) 2>/dev/null && grep $(1) $(CURDIR)/$< | sha256sum --quiet -c) || { \
    echo 'A typeface of the cards is missing in $(2), or is not the one they were measured with. Install it:' >&2; \
    echo '  apt-get install $(3)' >&2; exit 1; }
$(BUILD)/press/type.S: compiler/press/faces.sha256 | $(BUILD)/setup-build
	@mkdir -p $(@D)
	@$(call pinned,B612,$(FACES),fonts-b612=1.008-3)
	@$(call pinned,DejaVu,$(OTHER_FACES),fonts-dejavu-core=2.37-6)
	@{ $(EMBED_HEAD); $(call face_file,plain,$(FACES)/B612-Regular.otf); $(call face_file,bold,$(FACES)/B612-Bold.otf); \
	    $(call face_file,other_plain,$(OTHER_FACES)/DejaVuSans.ttf); $(call face_file,other_bold,$(OTHER_FACES)/DejaVuSans-Bold.ttf); } > $@

$(BUILD)/press/type.o: $(BUILD)/press/type.S
	$(call say,AS,$<)$(CC) -c -o $@ $<

$(PRESS): $(PRESS_OBJECTS) $(PRESS_BASE) $(BUILD)/press/type.o
	$(call say,LINK,$@)$(CC) $(CFLAGS) $(SANITIZERS) -shared -Wl,-O1 -Wl,--as-needed $(LDFLAGS) -o $@ $^ \
	    $$(pkg-config --libs cairo-ft cairo-pdf freetype2 harfbuzz-subset) -lm

# ---- the binder: the same for workbooks. Its lxw_tmpfile() must be found before the library's own.
BINDER_OBJECTS := $(BINDER_SOURCES:compiler/binder/%.c=$(BUILD)/binder/%.o)
BINDER_BASE := $(addprefix $(BUILD)/press/,arena.o str.o utf8.o)

$(BINDER_OBJECTS): $(BUILD)/binder/%.o: compiler/binder/%.c $(BUILD)/flags
	@mkdir -p $(@D)
	$(call say,CC,$<)$(COMPILE) -fPIC $$(pkg-config --cflags xlsxwriter | sed 's/-I/-isystem /g') -c -o $@ $<

$(BINDER): $(BINDER_OBJECTS) $(BINDER_BASE)
	$(call say,LINK,$@)$(CC) $(CFLAGS) $(SANITIZERS) -shared -Wl,-O1 -Wl,--as-needed $(LDFLAGS) -o $@ $^ $$(pkg-config --libs xlsxwriter)

# ---- the library for other programs: one object in which only the public names can be seen
$(BUILD)/libstartwright.a: $(LIBRARY_OBJECTS)
	$(CC) -r -nostdlib -o $(BUILD)/libstartwright.o $^
	objcopy --localize-hidden $(BUILD)/libstartwright.o
	rm -f $@
	ar rcs $@ $(BUILD)/libstartwright.o

# The same, shared. Its objects are compiled once more, as code that can lie anywhere. The soname changes with whatever breaks its callers.
VERSION := $(shell sed -n 's/^\#define SW_VERSION "\(.*\)"/\1/p' compiler/workspace/startwright.h)
SONAME := libstartwright.so.$(word 1,$(subst ., ,$(VERSION))).$(word 2,$(subst ., ,$(VERSION)))
SHARED := $(BUILD)/libstartwright.so.$(VERSION)
SHARED_OBJECTS := $(patsubst $(BUILD)/%,$(BUILD)/shared/%,$(filter-out %/library.o %/prepared.o %/step.o %/card_style.o,$(LIBRARY_OBJECTS)))

$(filter-out $(BUILD)/shared/gen/%,$(SHARED_OBJECTS)): $(BUILD)/shared/%.o: compiler/%.c $(BUILD)/flags | $(GEN)/parser.h $(GEN)/lexer.h
	@mkdir -p $(@D)
	$(call say,CC,$<)$(COMPILE) -fPIC -c -o $@ $<
$(filter $(BUILD)/shared/gen/%,$(SHARED_OBJECTS)): $(BUILD)/shared/gen/%.o: $(GEN)/%.c $(BUILD)/flags | $(GEN)/parser.h $(GEN)/lexer.h
	@mkdir -p $(@D)
	$(call say,CC,$<)$(COMPILE) -fPIC -c -o $@ $<

$(SHARED): $(SHARED_OBJECTS) $(GEN)/library.o $(GEN)/prepared.o $(GEN)/step.o $(GEN)/card_style.o
	$(call say,LINK,$@)$(CC) $(CFLAGS) $(SANITIZERS) -shared -Wl,-soname,$(SONAME) -Wl,-O1 -Wl,--as-needed -Wl,-z,defs $(LDFLAGS) -o $@ $^ -lm

$(BUILD)/startwright.pc: compiler/workspace/startwright.h Makefile
	@printf '%s\n' 'prefix=$(PREFIX)' 'libdir=$${prefix}/lib' 'includedir=$${prefix}/include' '' 'Name: startwright' \
	    'Description: compiler and checker for start procedures of aircraft, and runner of their state tables' 'Version: $(VERSION)' \
	    'Libs: -L$${libdir} -lstartwright' 'Libs.private: -lm' 'Cflags: -I$${includedir}' > $@

install: $(PROGRAM) $(PRESS) $(BINDER) $(BUILD)/libstartwright.a $(SHARED) $(BUILD)/startwright.pc
	install -d $(DESTDIR)$(PREFIX)/bin $(DESTDIR)$(PREFIX)/include $(DESTDIR)$(PREFIX)/lib
	install -d $(DESTDIR)$(PREFIX)/lib/startwright
	install -m 755 $(PROGRAM) $(DESTDIR)$(PREFIX)/bin/startwright
	install -m 644 $(PRESS) $(DESTDIR)$(PREFIX)/lib/startwright/startwright-press.so
	install -m 644 $(BINDER) $(DESTDIR)$(PREFIX)/lib/startwright/startwright-binder.so
	install -m 644 compiler/workspace/startwright.h $(DESTDIR)$(PREFIX)/include/startwright.h
	install -m 644 $(BUILD)/libstartwright.a $(DESTDIR)$(PREFIX)/lib/libstartwright.a
	install -m 755 $(SHARED) $(DESTDIR)$(PREFIX)/lib/$(notdir $(SHARED))
	ln -sf $(notdir $(SHARED)) $(DESTDIR)$(PREFIX)/lib/$(SONAME)
	ln -sf $(SONAME) $(DESTDIR)$(PREFIX)/lib/libstartwright.so
	install -d $(DESTDIR)$(PREFIX)/lib/pkgconfig
	install -m 644 $(BUILD)/startwright.pc $(DESTDIR)$(PREFIX)/lib/pkgconfig/startwright.pc

demo: $(PROGRAM) $(PRESS) $(BINDER)
	@rm -rf $(BUILD)/demo
	@for example in examples/saltmarsh/*.start; do \
	    echo "$(PROGRAM) issue $$example --into $(BUILD)/demo"; $(PROGRAM) issue $$example --into $(BUILD)/demo || exit; echo; done
	@echo '$(PROGRAM) issue examples/owner/qm-3.start --tail qm-3 --into $(BUILD)/demo'
	@$(PROGRAM) issue examples/owner/qm-3.start --tail qm-3 --into $(BUILD)/demo; echo
	@echo 'Look at the cards in $(BUILD)/demo/*.card.pdf (the same as plain text in *.card.txt) and at the tables beside'
	@echo 'them, and in *.deviations.html at what one owner changed. Every rule with its verdict: $(PROGRAM) check examples/saltmarsh/marram.start --verdicts'
	@echo 'Then break a line of examples/saltmarsh/marram.start and check it again. What a rule is for: $(PROGRAM) why clear-call'

# ---- tests
# A thin archive, so that each test links only what it uses.
$(BUILD)/units.a: $(LIBRARY_OBJECTS) $(filter-out $(MAIN_OBJECT),$(TOOL_OBJECTS))
	@rm -f $@
	@ar rcsT $@ $^

$(UNIT_TESTS): $(BUILD)/unit/%: tests/unit/%.c $(BUILD)/units.a $(BUILD)/flags | $(BUILD)/setup-test
	@mkdir -p $(@D)
	$(call say,CC,$<)$(COMPILE) -D_DEFAULT_SOURCE -Itests/unit -MF $@.d -MT $@ -o $@ $< $(BUILD)/units.a -lcmocka -lm $(LDFLAGS)

# The mutants of good texts, and what the oracle says of them.
$(BUILD)/mutate: $(wildcard tests/mutate/*.[ch]) $(addprefix tests/oracle/,replay.c rules.c sample.c texts.c) $(wildcard tests/oracle/*.h) \
    $(BUILD)/units.a $(BUILD)/flags
	$(call say,CC,tests/mutate)$(CC) $(FLAGS) -D_DEFAULT_SOURCE -Icompiler -o $@ $(filter %.c,$^) $(BUILD)/units.a -lm $(LDFLAGS)

# The library's gates, each weaker in each of its places.
$(BUILD)/weakened: $(wildcard tests/weakened/*.[ch]) $(addprefix tests/mutate/,operators.c subject.c mutate.h) tests/oracle/texts.c \
    $(wildcard tests/oracle/*.h) $(BUILD)/units.a $(BUILD)/flags
	$(call say,CC,tests/weakened)$(CC) $(FLAGS) -D_DEFAULT_SOURCE -Icompiler -o $@ $(filter %.c,$^) $(BUILD)/units.a -lm $(LDFLAGS)

# What is asked for by its whole path is the same file.
$(CURDIR)/$(BUILD)/%: $(BUILD)/% ;

test: $(PROGRAM) $(PRESS) $(BINDER) $(UNIT_TESTS) $(BUILD)/mutate $(BUILD)/weakened | $(BUILD)/setup-test
	@BUILD='$(BUILD)' STARTWRIGHT='$(PROGRAM)' CC='$(CC)' SANITIZE='$(SANITIZE)' bash tests/run-all $(UNIT_TESTS)

# Cards for screens in a browser, which is heavy to install: tests/press/browse.
browse: $(PROGRAM) $(PRESS) $(BINDER) | $(BUILD)/setup-browse
	@BUILD='$(BUILD)' STARTWRIGHT='$(PROGRAM)' bash tests/press/browse

# Workbooks as an office program opens and prints them, which is heavy to install: tests/workbook/looks.
looks: $(PROGRAM) $(PRESS) $(BINDER) | $(BUILD)/setup-looks
	@BUILD='$(BUILD)' STARTWRIGHT='$(PROGRAM)' bash tests/workbook/looks

# Larger runs of the oracles: ORACLE_MODELS random models against the tick enumerator, SPIN_MODELS against a model checker, REPLAY_MODELS
# whose counterexamples are replayed, SAMPLE_ALL random runs of what is proved, and ORACLE_SLACK models for what times have to spare.
ORACLE_MODELS ?= 1000000
ORACLE_SLACK ?= 200000
SPIN_MODELS ?= 1000
REPLAY_MODELS ?= 30000
SAMPLE_ALL ?= 100000
oracle: $(addprefix $(BUILD)/unit/,oracle spin replay)
	BUILD='$(BUILD)' SPIN_MODELS=$(SPIN_MODELS) $(BUILD)/unit/spin
	REPLAY_MODELS=$(REPLAY_MODELS) SAMPLE_ALL=$(SAMPLE_ALL) $(BUILD)/unit/replay
	ORACLE_MODELS=$(ORACLE_MODELS) ORACLE_SLACK=$(ORACLE_SLACK) $(BUILD)/unit/oracle

# Every mutant of every good text: minutes. Every survivor is listed in $(BUILD)/tests/mutate/every-1-1/survivors.
mutate: $(BUILD)/mutate
	@BUILD='$(BUILD)' bash tests/mutate/campaign 1 1 5000

# The gates of the library, each weaker in each of its places, on the bad twins and on mutants of the good ones (each WEAKENED_EVERY-th): what none
# tells from the gate itself is printed.
WEAKENED_EVERY ?= 20
weakened: $(BUILD)/weakened
	@$(BUILD)/weakened tests/gates/*.case --mutants=$(WEAKENED_EVERY) tests/gates/*.case | awk -F'\t' 'NF != 5 || $$4 == 0 { print }'

# Random scripts through every reader of state tables, READER_SCRIPTS in all: minutes.
READER_SCRIPTS ?= 100000
readers: $(PROGRAM) | $(BUILD)/setup-test
	@BUILD='$(BUILD)' STARTWRIGHT='$(PROGRAM)' CC='$(CC)' SCRIPTS=$$(($(READER_SCRIPTS) / 4)) bash tests/readers/run

# All changes that must not change a verdict, on all examples.
unchanged: $(PROGRAM) | $(BUILD)/setup-test
	@BUILD='$(BUILD)' STARTWRIGHT='$(PROGRAM)' bash tests/unchanged/run --all

sanitize:
	@$(MAKE) --no-print-directory test BUILD=$(BUILD)/sanitize SANITIZE=1 CFLAGS=-O1

# Workspaces in threads of their own, under ThreadSanitizer: builds everything once more. What the compiler warns of in code that it has
# instrumented is no error.
threads:
	@$(MAKE) --no-print-directory together BUILD=$(BUILD)/threads SANITIZE=thread CFLAGS=-O1 WERROR=
together: $(PROGRAM) $(BUILD)/libstartwright.a
	@BUILD='$(BUILD)' STARTWRIGHT='$(PROGRAM)' CC='$(CC)' SANITIZE='$(SANITIZE)' bash tests/threads/together

bench: $(PROGRAM) $(PRESS) $(BINDER) | $(BUILD)/setup-bench
	@BUILD='$(BUILD)' STARTWRIGHT='$(PROGRAM)' CC='$(CC)' bash tests/bench/measure

# ---- style
format: | $(BUILD)/setup-lint
	clang-format -i $(SOURCES) $(PRESS_SOURCES) $(BINDER_SOURCES) $(HEADERS) $(wildcard tests/*/*.c)

lint: $(GEN)/parser.h $(GEN)/lexer.h | $(BUILD)/setup-lint
	bash tests/tools/floors compiler
	@printf '%s\n' $(SOURCES) | xargs -P 2 -n 8 sh -c 'clang-tidy --quiet "$$@" -- -std=c11 -Icompiler -I$(GEN) -D_POSIX_C_SOURCE=200809L 2>/dev/null' lint

setup:
	@tests/tools/setup build test

clean:
	rm -rf $(BUILD)

-include $(HAND_OBJECTS:.o=.d) $(SHARED_OBJECTS:.o=.d) $(PRESS_OBJECTS:.o=.d) $(PRESS_BASE:.o=.d) $(BINDER_OBJECTS:.o=.d) $(GEN)/lexer.d $(GEN)/parser.d $(GEN)/library_table.d $(GEN)/why_size.d \
    $(UNIT_TESTS:=.d)
