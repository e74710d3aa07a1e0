/* SPDX-License-Identifier: MIT */
/*
 * tls.c - what we speak: TLS 1.2 and 1.3, authenticated ciphers with forward secrecy,
 * no renegotiation, no compression, http/1.1 and nothing else by ALPN.
 *
 * TLS 1.3 has no other kind of cipher; for 1.2 the list below is the whole choice.  A
 * client that offers only protocols we do not speak is told so (RFC 7301, 3.2) instead
 * of being answered in one it did not ask for.
 */
#include <errno.h>
#include <openssl/err.h>
#include <openssl/ssl.h>
#include <string.h>
#include <sys/stat.h>

#include "server.h"

static int on_alpn(SSL *ssl, const unsigned char **out, unsigned char *out_len,
    const unsigned char *in, unsigned int in_len, void *ctx)
{
	static const unsigned char ours[] = "\x08http/1.1";

	(void)ssl, (void)ctx;
	if (SSL_select_next_proto((unsigned char **)out, out_len, ours,
		sizeof(ours) - 1, in, in_len) == OPENSSL_NPN_NEGOTIATED)
		return SSL_TLSEXT_ERR_OK;
	return SSL_TLSEXT_ERR_ALERT_FATAL;
}

/* A key with a passphrase is refused: nobody sits at a server to type it. */
static int on_passphrase(char *buf, int size, int writing, void *ctx)
{
	(void)buf, (void)size, (void)writing, (void)ctx;
	return 0;
}

static const char *last_reason(void)
{
	unsigned long code = ERR_peek_last_error();
	const char *reason = code ? ERR_reason_error_string(code) : NULL;

	if (ERR_SYSTEM_ERROR(code))
		reason = strerror(ERR_GET_REASON(code));
	ERR_clear_error();
	return reason ? reason : "unknown reason";
}

static bool check_key_mode(const char *path, struct err *err)
{
	struct stat st;

	if (stat(path, &st) < 0) {
		err_set(err, ERR_INPUT, "private key \"%s\" cannot be read: %s",
		    path, strerror(errno));
		return err_hint(
		    err, "Name a PEM file that the daemon's user may read.");
	}
	if (st.st_mode & S_IROTH) {
		err_set(err, ERR_INPUT,
		    "private key \"%s\" can be read by everybody", path);
		return err_hint(err, "Run: chmod 600 \"%s\"", path);
	}
	return true;
}

static bool load(SSL_CTX *tls, const char *certificate, const char *private_key,
    struct err *err)
{
	if (SSL_CTX_use_certificate_chain_file(tls, certificate) != 1) {
		err_set(err, ERR_INPUT, "certificate \"%s\" cannot be read: %s",
		    certificate, last_reason());
		return err_hint(err,
		    "Name a PEM file: the certificate, then those above it.");
	}
	if (!private_key)
		return err_set(err, ERR_INPUT, "there is no private key");
	if (!check_key_mode(private_key, err))
		return false;
	if (SSL_CTX_use_PrivateKey_file(tls, private_key, SSL_FILETYPE_PEM) !=
	    1) {
		err_set(err, ERR_INPUT, "private key \"%s\" cannot be used: %s",
		    private_key, last_reason());
		return err_hint(err, "Name the PEM key of that certificate, "
				     "without passphrase.");
	}
	return true;
}

static bool set_rules(SSL_CTX *tls)
{
	static const unsigned char session_context[] = "tearshared";

	SSL_CTX_set_options(tls, SSL_OP_NO_COMPRESSION |
				     SSL_OP_NO_RENEGOTIATION |
				     SSL_OP_IGNORE_UNEXPECTED_EOF);
	SSL_CTX_set_mode(tls, SSL_MODE_RELEASE_BUFFERS);
	SSL_CTX_set_alpn_select_cb(tls, on_alpn, NULL);
	SSL_CTX_set_default_passwd_cb(tls, on_passphrase);
	return SSL_CTX_set_min_proto_version(tls, TLS1_2_VERSION) == 1 &&
	       SSL_CTX_set_cipher_list(tls, "ECDHE+AESGCM:ECDHE+CHACHA20") ==
		   1 &&
	       SSL_CTX_set_session_id_context(
		   tls, session_context, sizeof(session_context) - 1) == 1;
}

bool tls_make_context(const char *certificate, const char *private_key,
    SSL_CTX **out, struct err *err)
{
	SSL_CTX *tls = SSL_CTX_new(TLS_server_method());

	ERR_clear_error();
	if (!tls || !set_rules(tls)) {
		SSL_CTX_free(tls);
		return err_set(err, ERR_INTERNAL, "TLS could not be set up: %s",
		    last_reason());
	}
	if (!load(tls, certificate, private_key, err)) {
		SSL_CTX_free(tls);
		return false;
	}
	*out = tls;
	return true;
}

void tls_say_goodbye(SSL *ssl)
{
	if (SSL_is_init_finished(ssl))
		SSL_shutdown(ssl);
	ERR_clear_error();
}
