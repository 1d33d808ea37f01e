#include "base/sha256.h"
#include <string.h>

static const uint32_t round_words[64] = {
    0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
    0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
    0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
    0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
    0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
    0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
    0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
    0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2,
};

static uint32_t turn(uint32_t word, int by) {
    return word >> by | word << (32 - by);
}

static void expand(const unsigned char *block, uint32_t w[64]) {
    for (int i = 0; i < 16; i++) {
        const unsigned char *at = block + i * 4;
        w[i] = (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3];
    }
    for (int i = 16; i < 64; i++) {
        uint32_t low = turn(w[i - 15], 7) ^ turn(w[i - 15], 18) ^ w[i - 15] >> 3;
        uint32_t high = turn(w[i - 2], 17) ^ turn(w[i - 2], 19) ^ w[i - 2] >> 10;
        w[i] = w[i - 16] + low + w[i - 7] + high;
    }
}

/* One round; the eight words of the state change their names from round to round, so that none is moved. */
static inline void mix(uint32_t s[8], int at, uint32_t word) {
#define WORD(k) s[((k)-at) & 7]
    uint32_t choice = (WORD(4) & WORD(5)) ^ (~WORD(4) & WORD(6));
    uint32_t majority = (WORD(0) & WORD(1)) ^ (WORD(0) & WORD(2)) ^ (WORD(1) & WORD(2));
    uint32_t high = turn(WORD(4), 6) ^ turn(WORD(4), 11) ^ turn(WORD(4), 25);
    uint32_t low = turn(WORD(0), 2) ^ turn(WORD(0), 13) ^ turn(WORD(0), 22);
    uint32_t first = WORD(7) + high + choice + word;
    WORD(3) += first;
    WORD(7) = first + low + majority;
#undef WORD
}

static void digest_block(Sha256 *sha, const unsigned char *block) {
    uint32_t w[64], s[8];
    expand(block, w);
    memcpy(s, sha->state, sizeof s);
    for (int i = 0; i < 64; i += 8) {
        mix(s, 0, round_words[i] + w[i]);
        mix(s, 1, round_words[i + 1] + w[i + 1]);
        mix(s, 2, round_words[i + 2] + w[i + 2]);
        mix(s, 3, round_words[i + 3] + w[i + 3]);
        mix(s, 4, round_words[i + 4] + w[i + 4]);
        mix(s, 5, round_words[i + 5] + w[i + 5]);
        mix(s, 6, round_words[i + 6] + w[i + 6]);
        mix(s, 7, round_words[i + 7] + w[i + 7]);
    }
    for (int i = 0; i < 8; i++) sha->state[i] += s[i];
}

void sha256_open(Sha256 *sha) {
    *sha = (Sha256){
        .state = {0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19}};
}

void sha256_add(Sha256 *sha, Str bytes) {
    size_t used = (size_t)(sha->length % 64);
    sha->length += bytes.len;
    while (bytes.len) {
        size_t part = bytes.len < 64 - used ? bytes.len : 64 - used;
        memcpy(sha->block + used, bytes.ptr, part);
        bytes.ptr += part;
        bytes.len -= part;
        used += part;
        if (used == 64) {
            digest_block(sha, sha->block);
            used = 0;
        }
    }
}

Sha256Digest sha256_close(Sha256 *sha) {
    uint64_t bits = sha->length * 8;
    static const char padding[64] = {(char)0x80};
    size_t used = (size_t)(sha->length % 64);
    sha256_add(sha, (Str){padding, used < 56 ? 56 - used : 120 - used});
    char length[8];
    for (int i = 0; i < 8; i++) length[i] = (char)(bits >> (56 - 8 * i));
    sha256_add(sha, (Str){length, 8});
    Sha256Digest digest;
    for (int i = 0; i < 32; i++) digest.bytes[i] = (unsigned char)(sha->state[i / 4] >> (24 - i % 4 * 8));
    return digest;
}

Sha256Digest sha256_of(Str bytes) {
    Sha256 sha;
    sha256_open(&sha);
    sha256_add(&sha, bytes);
    return sha256_close(&sha);
}

void buf_hex(Buf *buf, const Sha256Digest *digest, size_t n) {
    for (size_t i = 0; i < n && i < sizeof digest->bytes; i++) {
        buf_char(buf, "0123456789abcdef"[digest->bytes[i] >> 4]);
        buf_char(buf, "0123456789abcdef"[digest->bytes[i] & 15]);
    }
}
