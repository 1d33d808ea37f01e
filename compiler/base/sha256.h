/* SHA-256 (FIPS 180-4), for content hashes and check codes. */
#ifndef BASE_SHA256_H
#define BASE_SHA256_H
#include "base/str.h"

typedef struct {
    uint32_t state[8];
    uint64_t length; /* bytes so far */
    unsigned char block[64];
} Sha256;
typedef struct {
    unsigned char bytes[32];
} Sha256Digest;

void sha256_open(Sha256 *sha);
void sha256_add(Sha256 *sha, Str bytes);
Sha256Digest sha256_close(Sha256 *sha);
Sha256Digest sha256_of(Str bytes);
/* Lower-case hexadecimal, the first n bytes of the digest (at most 32). */
void buf_hex(Buf *buf, const Sha256Digest *digest, size_t n);
#endif
