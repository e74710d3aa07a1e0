/* SPDX-License-Identifier: MIT */
/*
 * secret.c - secrets.
 *
 * An answer that shows a new key must come again when the same request comes again (the first
 * answer may have been lost on the way), and must not lie readable in the database.  Both at
 * once: it is kept sealed under a key that only the one who asks can draw again, from the
 * secret with which they asked.  Making the new key itself from the secret was considered:
 * then whoever once saw a bearer key could compute all keys made with it.
 *
 * HKDF: RFC 5869.  GCM: NIST SP 800-38D; the nonce is random, and one key seals one answer.
 */
#include "secret.h"

#include <assert.h>
#include <ctype.h>
#include <openssl/core_names.h>
#include <openssl/crypto.h>
#include <openssl/evp.h>
#include <openssl/kdf.h>
#include <openssl/params.h>
#include <openssl/rand.h>
#include <openssl/sha.h>
#include <stdlib.h>
#include <string.h>

#include "alloc.h"
#include "web.h"

#define NONCE_SIZE 12
#define TAG_SIZE 16

static const char base64url[] =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
static const char base32[] = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/* Without random bytes nothing here may go on. */
static void random_bytes(unsigned char *bytes, size_t len)
{
	if (RAND_bytes(bytes, (int)len) != 1)
		abort();
}

void secret_make(char text[static SECRET_TEXT])
{
	unsigned char bytes[SECRET_SIZE + 1] = {0};
	size_t n = 0;

	random_bytes(bytes, SECRET_SIZE);
	for (size_t bit = 0; bit < 8 * SECRET_SIZE; bit += 6) {
		unsigned two =
		    (unsigned)bytes[bit / 8] << 8 | bytes[bit / 8 + 1];

		text[n++] = base64url[two >> (10 - bit % 8) & 63];
	}
	text[n++] = '\0';
	assert(n == SECRET_TEXT);
	OPENSSL_cleanse(bytes, sizeof(bytes));
}

void secret_hash(const char *text, unsigned char hash[static SECRET_SIZE])
{
	SHA256((const unsigned char *)text, strlen(text), hash);
}

void web_key_make(char key[static WEB_KEY_TEXT], unsigned char hash[static 32])
{
	memcpy(key, "tsk_", 4);
	secret_make(key + 4);
	secret_hash(key, hash);
}

bool secret_is_key(const char *text)
{
	return strncmp(text, "tsk_", 4) == 0 &&
	       strlen(text) == WEB_KEY_TEXT - 1 &&
	       strspn(text + 4, base64url) == WEB_KEY_TEXT - 5;
}

static void letters(char *text, size_t n)
{
	unsigned char bytes[TOKEN_TEXT];

	assert(n <= sizeof(bytes));
	random_bytes(bytes, n);
	for (size_t i = 0; i < n; i++)
		text[i] = base32[bytes[i] & 31];
	text[n] = '\0';
}

void token_make(char text[static TOKEN_TEXT])
{
	letters(text, TOKEN_TEXT - 1);
}

void code_make(char text[static CODE_TEXT])
{
	char plain[14];

	letters(plain, 13);
	memcpy(text, plain, 4);
	text[4] = '-';
	memcpy(text + 5, plain + 4, 5);
	text[10] = '-';
	memcpy(text + 11, plain + 9, 4);
	text[15] = '\0';
	OPENSSL_cleanse(plain, sizeof(plain));
}

bool code_read(const char *typed, char text[static TOKEN_TEXT])
{
	size_t n = 0;

	for (; *typed != '\0'; typed++) {
		char c = (char)toupper((unsigned char)*typed);

		if (c == ' ' || c == '-')
			continue;
		if (c == 'O')
			c = '0';
		if (c == 'I' || c == 'L')
			c = '1';
		if (n == TOKEN_TEXT - 1 || strchr(base32, c) == NULL)
			return false;
		text[n++] = c;
	}
	text[n] = '\0';
	return n == 13 || n == TOKEN_TEXT - 1;
}

static bool draw_key(
    const char *secret, const char *once_key, unsigned char key[static 32])
{
	EVP_KDF *kdf = EVP_KDF_fetch(NULL, "HKDF", NULL);
	EVP_KDF_CTX *ctx = kdf == NULL ? NULL : EVP_KDF_CTX_new(kdf);
	char digest[] = "SHA256", salt[] = "tearshare kept answer 1";
	OSSL_PARAM params[] = {
	    OSSL_PARAM_construct_utf8_string(OSSL_KDF_PARAM_DIGEST, digest, 0),
	    OSSL_PARAM_construct_octet_string(
		OSSL_KDF_PARAM_KEY, (void *)(uintptr_t)secret, strlen(secret)),
	    OSSL_PARAM_construct_octet_string(
		OSSL_KDF_PARAM_SALT, salt, sizeof(salt) - 1),
	    OSSL_PARAM_construct_octet_string(OSSL_KDF_PARAM_INFO,
		(void *)(uintptr_t)once_key, strlen(once_key)),
	    OSSL_PARAM_construct_end(),
	};
	bool ok = ctx != NULL && EVP_KDF_derive(ctx, key, 32, params) == 1;

	EVP_KDF_CTX_free(ctx);
	EVP_KDF_free(kdf);
	return ok;
}

bool secret_seal(const char *secret, const char *once_key, const void *plain,
    size_t len, unsigned char **out, size_t *out_len)
{
	unsigned char key[32];
	unsigned char *sealed = xmalloc(NONCE_SIZE + len + TAG_SIZE);
	EVP_CIPHER_CTX *ctx = EVP_CIPHER_CTX_new();
	int n = 0, m = 0;
	bool ok = false;

	random_bytes(sealed, NONCE_SIZE);
	ok = ctx != NULL && draw_key(secret, once_key, key) &&
	     EVP_EncryptInit_ex(ctx, EVP_aes_256_gcm(), NULL, key, sealed) ==
		 1 &&
	     EVP_EncryptUpdate(ctx, sealed + NONCE_SIZE, &n, plain, (int)len) ==
		 1 &&
	     EVP_EncryptFinal_ex(ctx, sealed + NONCE_SIZE + n, &m) == 1 &&
	     EVP_CIPHER_CTX_ctrl(ctx, EVP_CTRL_GCM_GET_TAG, TAG_SIZE,
		 sealed + NONCE_SIZE + len) == 1;
	if (ok) {
		*out = sealed;
		*out_len = NONCE_SIZE + len + TAG_SIZE;
	} else {
		free(sealed);
	}
	OPENSSL_cleanse(key, sizeof(key));
	EVP_CIPHER_CTX_free(ctx);
	return ok;
}

bool secret_open(const char *secret, const char *once_key,
    const unsigned char *sealed, size_t len, unsigned char **out,
    size_t *out_len)
{
	unsigned char key[32], tag[TAG_SIZE];
	unsigned char *plain = NULL;
	EVP_CIPHER_CTX *ctx = NULL;
	size_t inner = len - NONCE_SIZE - TAG_SIZE;
	int n = 0, m = 0;
	bool ok = false;

	if (len < NONCE_SIZE + TAG_SIZE)
		return false;
	plain = xmalloc(inner + 1);
	memcpy(tag, sealed + NONCE_SIZE + inner, TAG_SIZE);
	ctx = EVP_CIPHER_CTX_new();
	ok = ctx != NULL && draw_key(secret, once_key, key) &&
	     EVP_DecryptInit_ex(ctx, EVP_aes_256_gcm(), NULL, key, sealed) ==
		 1 &&
	     EVP_DecryptUpdate(
		 ctx, plain, &n, sealed + NONCE_SIZE, (int)inner) == 1 &&
	     EVP_CIPHER_CTX_ctrl(ctx, EVP_CTRL_GCM_SET_TAG, TAG_SIZE, tag) ==
		 1 &&
	     EVP_DecryptFinal_ex(ctx, plain + n, &m) == 1;
	if (ok) {
		plain[inner] = '\0';
		*out = plain;
		*out_len = inner;
	} else {
		free(plain);
	}
	OPENSSL_cleanse(key, sizeof(key));
	EVP_CIPHER_CTX_free(ctx);
	return ok;
}
