#include "unit.h"

#include "base/names.h"
#include "base/source.h"
#include "base/vec.h"
#include <stdbool.h>

static void gives_zeroed_aligned_memory(void **state) {
    (void)state;
    Arena arena = {0};
    for (size_t size = 0; size < 300; size++) {
        unsigned char *at = arena_alloc(&arena, size);
        assert_non_null(at);
        assert_int_equal((uintptr_t)at % (size % 16 ? 8 : 16), 0);
        for (size_t i = 0; i < size; i++) assert_int_equal(at[i], 0);
        memset(at, 0xAA, size);
        arena_bytes(&arena, 1)[0] = 'x';
    }
    arena_free(&arena);
}

static void large_pieces_leave_the_newest_block_in_use(void **state) {
    (void)state;
    Arena arena = {0};
    char *small = arena_bytes(&arena, 8);
    unsigned char *large = arena_alloc(&arena, 5000000);
    char *next = arena_bytes(&arena, 8);
    assert_ptr_equal(small + 8, next);
    assert_int_equal(large[0] | large[4999999], 0);
    arena_free(&arena);
    assert_int_equal(arena.total, 0);
    assert_non_null(arena_alloc(&arena, 10)); /* usable again */
    arena_free(&arena);
}

static void resizing_keeps_the_bytes(void **state) {
    (void)state;
    Arena arena = {0};
    size_t size = 3;
    unsigned char *at = arena_alloc(&arena, size);
    for (size_t i = 0; i < size; i++) at[i] = (unsigned char)i;
    while (size < 3000000) {
        at = arena_resize(&arena, at, size, size * 2);
        for (size_t i = size; i < size * 2; i++) at[i] = (unsigned char)(i * 7);
        for (size_t i = 3; i < size * 2; i += 97) assert_int_equal(at[i], (unsigned char)(i * 7));
        size *= 2;
        if (size % 5 == 0) arena_alloc(&arena, 24);
    }
    arena_free(&arena);
}

static void an_array_at_the_end_grows_in_place(void **state) {
    (void)state;
    Arena arena = {0};
    char *at = arena_alloc(&arena, 64);
    assert_ptr_equal(arena_resize(&arena, at, 64, 128), at);
    arena_alloc(&arena, 8);
    assert_ptr_not_equal(arena_resize(&arena, at, 128, 256), at);
    arena_free(&arena);
}

static void shrinking_gives_zeroed_room_back(void **state) {
    (void)state;
    Arena arena = {0};
    char *at = arena_alloc(&arena, 64);
    memset(at, 'x', 64);
    arena_shrink(&arena, at, 64, 16);
    char *next = arena_alloc(&arena, 16);
    assert_ptr_equal(next, at + 16);
    for (int i = 0; i < 16; i++) assert_int_equal(next[i], 0);
    arena_free(&arena);
}

static bool leaves_on_product(size_t count, size_t size) {
    jmp_buf out;
    Arena arena = {.exhausted = &out};
    if (setjmp(out)) {
        arena_free(&arena);
        return true;
    }
    arena_array(&arena, count, size);
    arena_free(&arena);
    return false;
}

static void a_reset_arena_gives_clear_room_again(void **state) {
    (void)state;
    Arena arena = {0};
    for (size_t round = 0; round < 4; round++) {
        for (size_t size = 1; size < 3000; size += 7) {
            unsigned char *at = arena_alloc(&arena, size);
            for (size_t i = 0; i < size; i++) assert_int_equal(at[i], 0);
            memset(at, 0xAA, size);
        }
        memset(arena_alloc(&arena, 5000000), 0xAA, 5000000);
        arena_reset(&arena);
        assert_in_range(arena.total, 1, 2000000);
    }
    arena_free(&arena);
    memset(arena_alloc(&arena, 100000), 0xAA, 100000); /* a block of its own and no other */
    arena_reset(&arena);
    assert_int_equal(arena.total, 0);
    arena_free(&arena);
}

/* Clear, wherever it comes from, and apart from what is in use. */
static unsigned char *take_clear(Arena *arena, size_t size) {
    unsigned char *at = arena_alloc(arena, size);
    for (size_t i = 0; i < size; i++) assert_int_equal(at[i], 0);
    memset(at, 0xAA, size);
    return at;
}

static void what_is_given_back_is_used_again(void **state) {
    (void)state;
    enum { PAGES = 200, PAGE = 4096 };
    Arena arena = {0};
    unsigned char *pages[PAGES];
    for (size_t i = 0; i < PAGES; i++) pages[i] = take_clear(&arena, PAGE);
    unsigned char *large = take_clear(&arena, 900000);
    size_t asked = arena.total;
    unsigned char *kept = take_clear(&arena, 300);
    for (size_t i = 0; i < PAGES; i++) {
        arena_give(&arena, pages[i], PAGE);
        for (size_t size = 0; size < PAGE - 200; size += 104) take_clear(&arena, 104); /* in the place of the page */
    }
    assert_int_equal(arena.total, asked);
    arena_give(&arena, large, 900000);
    for (size_t i = 0; i < 800; i++) take_clear(&arena, 1000);
    assert_int_equal(arena.total, asked);
    arena_give(&arena, take_clear(&arena, 100), 100); /* too little to be kept */
    for (size_t i = 0; i < 300; i++) assert_int_equal(kept[i], 0xAA);
    arena_free(&arena);
    take_clear(&arena, 50);
    arena_free(&arena);
}

/* A room of the caller's is filled in order. */
static void a_given_room_keeps_its_order(void **state) {
    (void)state;
    _Alignas(16) static char room[4096];
    Arena arena = {.next = room, .end = room + sizeof room};
    void *first = arena_alloc(&arena, 1000);
    arena_give(&arena, first, 1000);
    assert_ptr_equal(arena_alloc(&arena, 8), room + 1000);
}

static void products_are_checked(void **state) {
    (void)state;
    assert_true(leaves_on_product(SIZE_MAX / 2 + 2, 2));
    assert_true(leaves_on_product(SIZE_MAX, SIZE_MAX));
    assert_true(leaves_on_product(SIZE_MAX - 8, 1));
    assert_false(leaves_on_product(0, SIZE_MAX));
    assert_false(leaves_on_product(1000, 16));
}

/* A piece of ordinary work that takes memory in every way. */
static void work(Arena *arena) {
    Names names;
    names_open(&names, arena);
    NameMap map = {.arena = arena};
    VEC(uint32_t) numbers = {0};
    Buf buf = {.arena = arena};
    for (uint32_t i = 1; i < 60000; i++) {
        buf.len = 0;
        buf_uint(&buf, i);
        Name name = name_intern(&names, buf_view(&buf));
        map_put(&map, name, arena);
        vec_push(arena, &numbers, i);
    }
    Sources sources = {.arena = arena};
    source_add(&sources, STR("a.start"), STR("one\ntwo\n"), false);
    assert_int_equal(source_position(&sources, 5).line, 2);
    assert_int_equal(numbers.n, 59999);
}

static void every_allocation_may_fail(void **state) {
    (void)state;
    volatile size_t k = 1;
    for (;; k++) {
        assert_in_range(k, 1, 500); /* the work needs fewer: it must come to its end */
        jmp_buf out;
        Arena arena = {.exhausted = &out};
        if (setjmp(out)) {
            arena_free(&arena);
            continue;
        }
        arena_fail_at(k);
        work(&arena);
        arena_fail_at(0);
        arena_free(&arena);
        break;
    }
    assert_in_range(k, 10, 500); /* it did fail that often before */
}

static void arrays_keep_the_order_of_pushing(void **state) {
    (void)state;
    Arena arena = {0};
    VEC(uint16_t) v = {0};
    for (uint16_t i = 0; i < 5000; i++) vec_push(&arena, &v, i);
    assert_int_equal(v.n, 5000);
    for (uint16_t i = 0; i < 5000; i++) assert_int_equal(v.at[i], i);
    arena_free(&arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(gives_zeroed_aligned_memory),
        cmocka_unit_test(large_pieces_leave_the_newest_block_in_use),
        cmocka_unit_test(resizing_keeps_the_bytes),
        cmocka_unit_test(an_array_at_the_end_grows_in_place),
        cmocka_unit_test(shrinking_gives_zeroed_room_back),
        cmocka_unit_test(a_reset_arena_gives_clear_room_again),
        cmocka_unit_test(what_is_given_back_is_used_again),
        cmocka_unit_test(a_given_room_keeps_its_order),
        cmocka_unit_test(products_are_checked),
        cmocka_unit_test(every_allocation_may_fail),
        cmocka_unit_test(arrays_keep_the_order_of_pushing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
