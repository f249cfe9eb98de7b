// Package house has people sign in by the house: an identity provider of OpenID Connect says
// who they are and which groups they are in, by the authorization code (OpenID Connect Core 1.0,
// section 3.1) with PKCE (RFC 7636). It is the only package that knows go-oidc.
//
// What the provider says is asked again and again while somebody is signed in, so that whoever
// leaves the house leaves this program too: see [Provider.Ask] and [Provider.SignedOut].
package house

import (
	"context"
	"crypto/subtle"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io"
	"net/http"
	"net/url"
	"slices"
	"sync"
	"time"

	"github.com/coreos/go-oidc/v3/oidc"
	"golang.org/x/oauth2"

	"wetside/daemon/outgoing"
	"wetside/rules/access"
	"wetside/sensors"
	"wetside/sensors/quantity/phrase"
)

// Options say which provider is asked, and what its words mean here.
type Options struct {
	// Name is what people call the house.
	Name string
	// Issuer, ClientID and Secret are as the provider has them; Secret may be empty.
	Issuer, ClientID, Secret string
	// Redirect is the address of the page that the provider leads back to.
	Redirect string
	// Scopes are asked for beside openid.
	Scopes []string
	// RoleClaim and NameClaim name the claims with the groups and the name of a person; a claim
	// within another is written with a point between them.
	RoleClaim, NameClaim string
	// Roles are what the values of the role claim mean.
	Roles map[string]access.Role
	// Sites are those of a centre that the values of the role claim let somebody see.
	Sites map[string]access.Sites
	// Every is how often the provider is asked again about who is signed in, Bridge how long
	// somebody stays signed in while it does not answer.
	Every, Bridge time.Duration
	// Roots are who vouches for the provider's certificate; nil for whom the system trusts.
	Roots *x509.CertPool
}

const (
	answerWithin = 10 * time.Second
	// mostAnswer bounds what the provider may send at once.
	mostAnswer = 1 << 20
	// againAfter is when a provider that did not answer is asked again.
	againAfter = 5 * time.Second
)

// Provider is the identity provider of a house.
type Provider struct {
	Options
	clock  sensors.Clock
	client *http.Client
	life   context.Context // of the fetching of keys, which no single request owns
	end    context.CancelFunc

	mu      sync.Mutex // over what follows
	found   *oidc.Provider
	failed  error
	triedAt time.Duration
}

// New knows the provider; it is first asked when somebody signs in. Close ends it.
func New(o Options, clock sensors.Clock) *Provider {
	p := &Provider{Options: o, clock: clock}
	way := outgoing.Way()
	way.TLSClientConfig = &tls.Config{RootCAs: o.Roots, MinVersion: tls.VersionTLS12}
	p.client = outgoing.Client(answerWithin, bounded{way})
	p.life, p.end = context.WithCancel(oidc.ClientContext(context.Background(), p.client))
	return p
}

// Close ends what is still asked.
func (p *Provider) Close() {
	p.end()
	p.client.CloseIdleConnections()
}

// bounded cuts an answer that is far too long.
type bounded struct{ *http.Transport }

func (b bounded) RoundTrip(r *http.Request) (*http.Response, error) {
	answer, err := b.Transport.RoundTrip(r)
	if err == nil {
		answer.Body = struct {
			io.Reader
			io.Closer
		}{io.LimitReader(answer.Body, mostAnswer), answer.Body}
	}
	return answer, err
}

// Unanswered is why the provider could not be asked: nothing is known of the person.
type Unanswered struct{ Err error }

// Error says what went wrong.
func (e Unanswered) Error() string { return "the provider does not answer: " + e.Err.Error() }

// Unwrap gives what went wrong.
func (e Unanswered) Unwrap() error { return e.Err }

// provider asks once what the provider offers.
func (p *Provider) provider() (*oidc.Provider, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	now := p.clock.Now().Mono
	if p.found != nil || p.failed != nil && now-p.triedAt < againAfter {
		return p.found, p.failed
	}
	p.found, p.failed, p.triedAt = nil, nil, now
	found, err := oidc.NewProvider(p.life, p.Issuer)
	if err != nil {
		p.failed = Unanswered{err}
		return nil, p.failed
	}
	p.found = found
	return found, nil
}

func (p *Provider) config(found *oidc.Provider) *oauth2.Config {
	at := found.Endpoint()
	at.AuthStyle = p.authStyle(found)
	return &oauth2.Config{ClientID: p.ClientID, ClientSecret: p.Secret, Endpoint: at, RedirectURL: p.Redirect,
		Scopes: append([]string{oidc.ScopeOpenID}, p.Scopes...)}
}

// authStyle is how the client shows its secret: in a header unless the provider wants it
// otherwise (OpenID Connect Discovery 1.0, section 3). To try both ways would use up codes.
func (p *Provider) authStyle(found *oidc.Provider) oauth2.AuthStyle {
	var offered struct {
		Methods []string `json:"token_endpoint_auth_methods_supported"`
	}
	err := found.Claims(&offered)
	header := err != nil || len(offered.Methods) == 0 || slices.Contains(offered.Methods, "client_secret_basic")
	if p.Secret != "" && header {
		return oauth2.AuthStyleInHeader
	}
	return oauth2.AuthStyleInParams
}

func (p *Provider) verifier(found *oidc.Provider) *oidc.IDTokenVerifier {
	return found.VerifierContext(p.life, &oidc.Config{ClientID: p.ClientID, Now: func() time.Time { return p.clock.Now().Wall }})
}

// Begun is a sign-in on its way: what the provider's answer must fit.
type Begun struct{ state, nonce, verifier string }

// Begin gives the address at the provider where somebody signs in. Afresh asks them there also
// if another person's sign-in still lasts in the browser, as it may on a shared computer.
func (p *Provider) Begin(afresh bool) (address string, b Begun, err error) {
	found, err := p.provider()
	if err != nil {
		return "", Begun{}, err
	}
	b = Begun{oauth2.GenerateVerifier(), oauth2.GenerateVerifier(), oauth2.GenerateVerifier()}
	asked := []oauth2.AuthCodeOption{oidc.Nonce(b.nonce), oauth2.S256ChallengeOption(b.verifier)}
	if afresh {
		asked = append(asked, oauth2.SetAuthURLParam("prompt", "login")) // OpenID Connect Core 1.0, section 3.1.2.1
	}
	return p.config(found).AuthCodeURL(b.state, asked...), b, nil
}

// Visitor is somebody whom the provider knows.
type Visitor struct {
	// Subject is who it is, whatever the name; Session that of the provider, empty where it has none.
	Subject, Session string
	Name             string
	Role             access.Role
	Sites            access.Sites // of a centre
	// Until is when the sign-in ends; zero where the provider is asked anew each time.
	Until time.Time
	token *oauth2.Token
	told  claims // by the identity token
}

var (
	errMixedUp = phrase.Errorf("the answer does not belong to a sign-in that began in this browser: start again")
	errNoCode  = phrase.Errorf("the answer has no code: start again")
	// errNoRole is why somebody is not let in whom the provider knows.
	errNoRole = phrase.Errorf("none of your groups has a role here: ask whoever manages the groups")
	// errGone is why somebody is let in no longer.
	errGone = phrase.Errorf("the house lets this person in no longer")
)

// Finish takes what the provider sent back to the browser, and gives who it is.
func (p *Provider) Finish(ctx context.Context, b Begun, answer url.Values) (Visitor, error) {
	if b.state == "" || subtle.ConstantTimeCompare([]byte(answer.Get("state")), []byte(b.state)) != 1 {
		return Visitor{}, errMixedUp
	}
	if iss := answer.Get("iss"); iss != "" && iss != p.Issuer { // RFC 9207: an answer of another provider
		return Visitor{}, errMixedUp
	}
	if refusal := answer.Get("error"); refusal != "" {
		return Visitor{}, phrase.Errorf("%s did not let you in (%q)", p.Name, refusal[:min(len(refusal), 60)])
	}
	if answer.Get("code") == "" {
		return Visitor{}, errNoCode
	}
	found, err := p.provider()
	if err != nil {
		return Visitor{}, err
	}
	token, err := p.config(found).Exchange(oidc.ClientContext(ctx, p.client), answer.Get("code"), oauth2.VerifierOption(b.verifier))
	if err != nil {
		return Visitor{}, sorted(err)
	}
	id, told, err := p.identity(ctx, found, token)
	if err != nil {
		return Visitor{}, err
	}
	if subtle.ConstantTimeCompare([]byte(id.Nonce), []byte(b.nonce)) != 1 {
		return Visitor{}, errMixedUp
	}
	v := Visitor{Subject: id.Subject, Session: told.text("sid"), token: token}
	if token.RefreshToken == "" { // then nothing tells more than these tokens did
		v.Until = id.Expiry
		if ends := p.clock.Now().Wall.Add(time.Duration(token.ExpiresIn) * time.Second); ends.After(v.Until) {
			v.Until = ends
		}
	}
	return p.visitor(ctx, found, v, told)
}

// identity verifies the identity token that came with an access token.
func (p *Provider) identity(ctx context.Context, found *oidc.Provider, token *oauth2.Token) (*oidc.IDToken, claims, error) {
	raw, _ := token.Extra("id_token").(string)
	if raw == "" {
		return nil, nil, phrase.Errorf("the answer of the provider has no identity token: the client must be one of OpenID Connect")
	}
	id, err := p.verifier(found).Verify(ctx, raw)
	if err != nil {
		return nil, nil, phrase.Errorf("the identity token of the provider is not taken: %w", err)
	}
	told := claims{}
	if err := id.Claims(&told); err != nil {
		return nil, nil, phrase.Errorf("the identity token of the provider can't be read: %w", err)
	}
	// OpenID Connect Core 1.0, section 3.1.3.7, points 4 and 5: meant for this client, not merely also for it.
	if party := told.text("azp"); party != "" && party != p.ClientID || party == "" && len(id.Audience) > 1 {
		return nil, nil, phrase.Errorf("the identity token of the provider is for another program")
	}
	if id.AccessTokenHash != "" {
		if err := id.VerifyAccessToken(token.AccessToken); err != nil {
			return nil, nil, phrase.Errorf("the identity token of the provider belongs to another answer: %w", err)
		}
	}
	return id, told, nil
}

// visitor fills in who somebody is by the claims of the identity token and those that the
// provider has of them at this moment.
func (p *Provider) visitor(ctx context.Context, found *oidc.Provider, v Visitor, told claims) (Visitor, error) {
	v.told = told.and(nil)
	if address := found.UserInfoEndpoint(); address != "" {
		now, err := p.userInfo(ctx, address, v.token)
		if err != nil {
			return Visitor{}, err
		}
		if now.text("sub") != v.Subject { // OpenID Connect Core 1.0, section 5.3.2
			return Visitor{}, errGone
		}
		told = told.and(now)
	}
	v.Sites = ""
	for _, group := range told.texts(p.RoleClaim) {
		v.Sites = v.Sites.And(p.Sites[group])
	}
	v.Role = p.roleOf(told)
	if v.Role == "" {
		return Visitor{}, errNoRole
	}
	if v.Name = told.text(p.NameClaim); v.Name == "" {
		return Visitor{}, phrase.Errorf("the provider gives no name in %q: ask the keeper to check name-claim in the configuration", p.NameClaim)
	}
	return v, nil
}

// roleOf is the highest role that somebody's groups give.
func (p *Provider) roleOf(told claims) (best access.Role) {
	for _, group := range told.texts(p.RoleClaim) {
		if r := p.Roles[group]; r != "" && (best == "" || r.Covers(best)) {
			best = r
		}
	}
	return best
}

// Ask asks the provider again about somebody. The error is [Unanswered] where nothing is known,
// and any other where the person is let in no longer.
func (p *Provider) Ask(ctx context.Context, v Visitor) (Visitor, error) {
	found, err := p.provider()
	if err != nil {
		return v, err
	}
	told := v.told
	if v.token.RefreshToken != "" {
		old := &oauth2.Token{RefreshToken: v.token.RefreshToken}
		token, err := p.config(found).TokenSource(oidc.ClientContext(ctx, p.client), old).Token()
		if err != nil {
			return v, sorted(err)
		}
		v.token = token
		if v.token.Extra("id_token") != nil {
			id, fresh, err := p.identity(ctx, found, v.token)
			if err != nil { // perhaps of keys that can't be fetched now: no word of the person
				return v, Unanswered{err}
			}
			if id.Subject != v.Subject {
				return v, errGone
			}
			told = fresh
		}
	}
	now, err := p.visitor(ctx, found, v, told)
	if err != nil {
		return v, err // with the token to ask with next
	}
	return now, nil
}

// sorted tells a provider that refuses somebody from one that does not answer: RFC 6749, section 5.2.
func sorted(err error) error {
	refused := new(oauth2.RetrieveError)
	if errors.As(err, &refused) && refused.ErrorCode == "invalid_grant" {
		return errGone
	}
	return Unanswered{err}
}

// SignedOut takes a logout token (OpenID Connect Back-Channel Logout 1.0, section 2.6) and says
// whose sign-in ends: all of a subject, or the one of a session at the provider.
func (p *Provider) SignedOut(ctx context.Context, token string) (subject, session string, err error) {
	found, err := p.provider()
	if err != nil {
		return "", "", err
	}
	t, err := p.verifier(found).VerifyLogout(ctx, token)
	if err != nil {
		return "", "", phrase.Errorf("the logout token is not taken: %w", err)
	}
	return t.Subject, t.SessionID, nil
}

// Ends says whether a logout of a subject or session ends this sign-in.
func (v Visitor) Ends(subject, session string) bool {
	return (subject == "" || subject == v.Subject) && (session == "" || session == v.Session)
}
