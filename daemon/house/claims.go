package house

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"net/http"
	"strings"

	"golang.org/x/oauth2"

	"wetside/sensors/quantity/phrase"
)

// claims are what a provider says of somebody.
type claims map[string]any

// and gives both, the newer where they differ.
func (c claims) and(newer claims) claims {
	out := maps.Clone(c)
	maps.Copy(out, newer)
	return out
}

// value finds a claim; a point leads into another one where none is called so as a whole.
func (c claims) value(name string) any {
	if v, there := c[name]; there {
		return v
	}
	outer, inner, within := strings.Cut(name, ".")
	next, _ := c[outer].(map[string]any)
	if !within || next == nil {
		return nil
	}
	return claims(next).value(inner)
}

func (c claims) text(name string) string {
	t, _ := c.value(name).(string)
	return strings.TrimSpace(t)
}

func (c claims) texts(name string) []string {
	list, _ := c.value(name).([]any)
	if one := c.text(name); one != "" {
		return []string{one}
	}
	var out []string
	for _, v := range list {
		if t, is := v.(string); is {
			out = append(out, t)
		}
	}
	return out
}

// userInfo asks for the claims of somebody as they are now: OpenID Connect Core 1.0, section 5.3.
// The library gives the status of a refusal as text alone, and what matters here is the status.
func (p *Provider) userInfo(ctx context.Context, address string, token *oauth2.Token) (claims, error) {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		return nil, Unanswered{err}
	}
	token.SetAuthHeader(r)
	answer, err := p.client.Do(r)
	if err != nil {
		return nil, Unanswered{err}
	}
	defer answer.Body.Close()
	switch answer.StatusCode {
	case http.StatusOK:
	case http.StatusUnauthorized, http.StatusForbidden:
		return nil, errGone
	default:
		return nil, Unanswered{fmt.Errorf("it answered %s", answer.Status)}
	}
	var told claims
	if err := json.NewDecoder(answer.Body).Decode(&told); err != nil {
		return nil, Unanswered{phrase.Errorf("what it says of the person is not JSON: %w", err)}
	}
	return told, nil
}
