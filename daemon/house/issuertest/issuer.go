// Package issuertest is an identity provider for tests: it signs people in without asking,
// checks what a client sends as RFC 6749 and RFC 7636 have it, and can do everything wrong that
// a client must notice. It is for tests alone, and written without the library of the program.
package issuertest

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/rsa"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"io"
	"maps"
	"math/big"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// What a client is called.
const (
	ClientID = "wetside"
	Secret   = "invented client secret"
)

// Person is who is signed in at the issuer.
type Person struct {
	Subject, Session, Name string
	Groups                 []string
}

// Claims are what a token says.
type Claims map[string]any

// Issuer is an identity provider that listens.
type Issuer struct {
	*httptest.Server
	t   testing.TB
	now func() time.Time

	mu sync.Mutex
	// Who is signed in, and what the issuer does; changed by Change alone.
	wrong    Wrong
	who      Person
	keys     []signer
	codes    map[string]begun
	refresh  map[string]string // subject by token
	asked    url.Values        // of the last sign-in
	answered int
}

// Wrong is what an issuer does otherwise than it should, or otherwise than usual.
type Wrong struct {
	// Down answers nothing but an error of the server.
	Down bool
	// Algorithm is RS256 unless said otherwise.
	Algorithm string
	// Foreign signs with a key that is not published.
	Foreign bool
	// Token changes what an identity token says, Info what is told of a person, Answer what is
	// written into the address that leads back.
	Token, Info func(Claims)
	Answer      func(url.Values)
	// NoRefresh gives no refresh token; Revoked takes none; Stranger knows no access token.
	NoRefresh, Revoked, Stranger bool
	// InfoDown fails where a person is asked about, after a refresh token was used up.
	InfoDown bool
}

type begun struct{ nonce, challenge, redirect, subject string }

type signer struct {
	name string
	rsa  *rsa.PrivateKey
	ec   *ecdsa.PrivateKey
}

// Start starts an issuer that lives by a clock, with nobody signed in.
func Start(t testing.TB, now func() time.Time) *Issuer {
	i := &Issuer{t: t, now: now, codes: map[string]begun{}, refresh: map[string]string{}}
	i.keys = first()
	mux := http.NewServeMux()
	mux.HandleFunc("GET /.well-known/openid-configuration", i.discovery)
	mux.HandleFunc("GET /authorize", i.authorize)
	mux.HandleFunc("POST /token", i.token)
	mux.HandleFunc("GET /userinfo", i.userInfo)
	mux.HandleFunc("GET /keys", i.published)
	i.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		i.mu.Lock()
		defer i.mu.Unlock()
		i.answered++
		if i.wrong.Down {
			http.Error(w, "out of order", http.StatusServiceUnavailable)
			return
		}
		mux.ServeHTTP(w, r)
	}))
	t.Cleanup(i.Close)
	return i
}

// SignsIn lets somebody be signed in at the issuer.
func (i *Issuer) SignsIn(p Person) { i.mu.Lock(); defer i.mu.Unlock(); i.who = p }

// Does has the issuer do something otherwise from now on.
func (i *Issuer) Does(w Wrong) { i.mu.Lock(); defer i.mu.Unlock(); i.wrong = w }

// Asked is what the last sign-in asked for.
func (i *Issuer) Asked() url.Values { i.mu.Lock(); defer i.mu.Unlock(); return i.asked }

// Answered counts the requests so far.
func (i *Issuer) Answered() int { i.mu.Lock(); defer i.mu.Unlock(); return i.answered }

// Rotate signs with new keys from now on, and publishes these alone.
func (i *Issuer) Rotate() {
	i.mu.Lock()
	defer i.mu.Unlock()
	i.keys = newKeys()
}

// first and foreign are keys that take a while to make.
var first, foreign = sync.OnceValue(newKeys), sync.OnceValue(newKeys)

func newKeys() []signer {
	r, errR := rsa.GenerateKey(rand.Reader, 2048)
	e, errE := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err := errors.Join(errR, errE); err != nil {
		panic(err)
	}
	return []signer{{name: rand.Text(), rsa: r}, {name: rand.Text(), ec: e}}
}

func (i *Issuer) discovery(w http.ResponseWriter, _ *http.Request) {
	send(w, Claims{"issuer": i.URL, "authorization_endpoint": i.URL + "/authorize", "token_endpoint": i.URL + "/token",
		"userinfo_endpoint": i.URL + "/userinfo", "jwks_uri": i.URL + "/keys", "response_types_supported": []string{"code"},
		"subject_types_supported": []string{"public"}, "id_token_signing_alg_values_supported": []string{"RS256", "ES256", "none"}})
}

func send(w http.ResponseWriter, c any) {
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(c) // the client went away
}

// refuse is RFC 6749, section 5.2.
func refuse(w http.ResponseWriter, word string) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(http.StatusBadRequest)
	_ = json.NewEncoder(w).Encode(Claims{"error": word})
}

func (i *Issuer) authorize(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	i.asked = q
	if q.Get("response_type") != "code" || q.Get("client_id") != ClientID || q.Get("code_challenge_method") != "S256" ||
		!strings.Contains(" "+q.Get("scope")+" ", " openid ") {
		http.Error(w, "not asked as OpenID Connect and PKCE have it", http.StatusBadRequest)
		return
	}
	code := rand.Text()
	i.codes[code] = begun{q.Get("nonce"), q.Get("code_challenge"), q.Get("redirect_uri"), i.who.Subject}
	answer := url.Values{}
	answer.Set("code", code)
	answer.Set("state", q.Get("state"))
	if i.wrong.Answer != nil {
		i.wrong.Answer(answer)
	}
	http.Redirect(w, r, q.Get("redirect_uri")+"?"+answer.Encode(), http.StatusFound)
}

func (i *Issuer) token(w http.ResponseWriter, r *http.Request) {
	id, secret, _ := r.BasicAuth()
	body, _ := io.ReadAll(io.LimitReader(r.Body, 1<<16))
	asked, _ := url.ParseQuery(string(body)) // what is wrong in it is refused below
	form := asked.Get
	if id != ClientID || secret != url.QueryEscape(Secret) {
		refuse(w, "invalid_client")
		return
	}
	nonce, subject := "", ""
	if form("grant_type") == "authorization_code" {
		b, known := i.codes[form("code")]
		delete(i.codes, form("code"))
		sum := sha256.Sum256([]byte(form("code_verifier")))
		if !known || b.redirect != form("redirect_uri") || b.challenge != encode(sum[:]) {
			refuse(w, "invalid_grant")
			return
		}
		nonce, subject = b.nonce, b.subject
	} else {
		subject = i.refresh[form("refresh_token")]
		delete(i.refresh, form("refresh_token")) // each works once
		if subject == "" || i.wrong.Revoked {
			refuse(w, "invalid_grant")
			return
		}
	}
	answer := Claims{"access_token": "access " + subject, "token_type": "Bearer", "expires_in": 3600, "id_token": i.identity(nonce)}
	if !i.wrong.NoRefresh {
		token := rand.Text()
		i.refresh[token] = subject
		answer["refresh_token"] = token
	}
	send(w, answer)
}

func (i *Issuer) identity(nonce string) string {
	c := Claims{"iss": i.URL, "sub": i.who.Subject, "aud": ClientID, "exp": i.now().Add(10 * time.Minute).Unix(), "iat": i.now().Unix(),
		"name": i.who.Name, "groups": i.who.Groups}
	if i.who.Session != "" {
		c["sid"] = i.who.Session
	}
	if nonce != "" {
		c["nonce"] = nonce
	}
	if i.wrong.Token != nil {
		i.wrong.Token(c)
	}
	return i.sign(c)
}

func (i *Issuer) userInfo(w http.ResponseWriter, r *http.Request) {
	switch {
	case i.wrong.InfoDown:
		http.Error(w, "out of order", http.StatusBadGateway)
		return
	case i.wrong.Stranger || !strings.HasPrefix(r.Header.Get("Authorization"), "Bearer access "):
		w.WriteHeader(http.StatusUnauthorized)
		return
	}
	c := Claims{"sub": i.who.Subject, "name": i.who.Name, "groups": i.who.Groups}
	if i.wrong.Info != nil {
		i.wrong.Info(c)
	}
	send(w, c)
}

func (i *Issuer) published(w http.ResponseWriter, _ *http.Request) {
	r, e := i.keys[0], i.keys[1]
	send(w, Claims{"keys": []Claims{
		{"kty": "RSA", "use": "sig", "alg": "RS256", "kid": r.name, "n": encode(r.rsa.N.Bytes()),
			"e": encode(big.NewInt(int64(r.rsa.E)).Bytes())},
		{"kty": "EC", "use": "sig", "alg": "ES256", "crv": "P-256", "kid": e.name, "x": encode(e.ec.X.FillBytes(make([]byte, 32))),
			"y": encode(e.ec.Y.FillBytes(make([]byte, 32)))}}})
}

// SignOut is a logout token about a subject or a session, with what it says changed.
func (i *Issuer) SignOut(change func(Claims)) string {
	i.mu.Lock()
	defer i.mu.Unlock()
	c := Claims{"iss": i.URL, "aud": ClientID, "iat": i.now().Unix(), "exp": i.now().Add(2 * time.Minute).Unix(), "jti": rand.Text(),
		"events": Claims{"http://schemas.openid.net/event/backchannel-logout": Claims{}}}
	change(c)
	return i.sign(maps.Clone(c))
}

// sign gives a token by RFC 7515 in its short form, signed as RFC 7518, sections 3.3 and 3.4, has it.
func (i *Issuer) sign(c Claims) string {
	key := i.keys[0]
	algorithm := i.wrong.Algorithm
	if algorithm == "" {
		algorithm = "RS256"
	}
	if algorithm == "ES256" {
		key = i.keys[1]
	}
	text := encode(marshal(Claims{"alg": algorithm, "kid": key.name, "typ": "JWT"})) + "." + encode(marshal(c))
	sum := sha256.Sum256([]byte(text))
	private := key.rsa
	if i.wrong.Foreign {
		private = foreign()[0].rsa
	}
	switch algorithm {
	case "RS256":
		signature, err := rsa.SignPKCS1v15(rand.Reader, private, crypto.SHA256, sum[:])
		require.NoError(i.t, err)
		return text + "." + encode(signature)
	case "ES256":
		r, s, err := ecdsa.Sign(rand.Reader, key.ec, sum[:])
		require.NoError(i.t, err)
		return text + "." + encode(append(r.FillBytes(make([]byte, 32)), s.FillBytes(make([]byte, 32))...))
	}
	return text + "."
}

func marshal(c Claims) []byte {
	text, err := json.Marshal(c)
	if err != nil {
		panic(err)
	}
	return text
}

func encode(b []byte) string { return base64.RawURLEncoding.EncodeToString(b) }
