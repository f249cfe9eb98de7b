package access

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"strings"
)

// Form stands for one form as it was sent: a digest of its token and one of its content.
// It is kept with the record that the form led to, so that the same form sent again, also
// after a restart, leads to no second record.
type Form string

// FormOf is the form with a token and a content.
func FormOf(token, content string) Form { return Form(digest(token) + "-" + digest(content)) }

// Of says whether the form was sent with a token.
func (f Form) Of(token string) bool { return strings.HasPrefix(string(f), digest(token)+"-") }

func digest(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:16])
}

type formKey struct{}

// WithForm carries the form along with what it asks for.
func WithForm(ctx context.Context, f Form) context.Context {
	return context.WithValue(ctx, formKey{}, f)
}

// FormFrom gives the form by which something was asked for; empty where it came by none.
func FormFrom(ctx context.Context) Form {
	f, _ := ctx.Value(formKey{}).(Form)
	return f
}
