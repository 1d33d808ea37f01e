#include "unit.h"

#include "base/sha256.h"

static void assert_digest(Sha256Digest digest, const char *hex) {
    Arena arena = {0};
    Buf buf = {.arena = &arena};
    buf_hex(&buf, &digest, 32);
    assert_str(buf_view(&buf), hex);
    arena_free(&arena);
}

/* The examples published with the standard. */
static void published_vectors(void **state) {
    (void)state;
    assert_digest(sha256_of(STR("")), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    assert_digest(sha256_of(STR("abc")), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    assert_digest(sha256_of(STR("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq")),
                  "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    assert_digest(sha256_of(STR("abcdefghbcdefghicdefghijdefghijkefghijklfghijklmghijklmn"
                                "hijklmnoijklmnopjklmnopqklmnopqrlmnopqrsmnopqrstnopqrstu")),
                  "cf5b16a778af8380036ce59e7b0492370b249b11e8f07a51afac45037afee9d1");
}

static void a_million_letters_in_odd_pieces(void **state) {
    (void)state;
    static char letters[1000];
    memset(letters, 'a', sizeof letters);
    Sha256 sha;
    sha256_open(&sha);
    size_t left = 1000000, piece = 1;
    while (left) {
        if (piece > left) piece = left;
        sha256_add(&sha, (Str){letters, piece});
        left -= piece;
        piece = piece * 3 % 997 + 1;
    }
    assert_digest(sha256_close(&sha), "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

static void pieces_make_the_same_as_the_whole(void **state) {
    (void)state;
    char text[200];
    for (size_t i = 0; i < sizeof text; i++) text[i] = (char)i;
    for (size_t len = 0; len <= sizeof text; len++) {
        Sha256 sha;
        sha256_open(&sha);
        for (size_t i = 0; i < len; i++) sha256_add(&sha, (Str){text + i, 1});
        Sha256Digest by_bytes = sha256_close(&sha), whole = sha256_of((Str){text, len});
        assert_memory_equal(by_bytes.bytes, whole.bytes, 32);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_vectors),
        cmocka_unit_test(a_million_letters_in_odd_pieces),
        cmocka_unit_test(pieces_make_the_same_as_the_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
