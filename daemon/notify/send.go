package notify

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/wneessen/go-mail"
)

const answerTime = 30 * time.Second

// Server is a mail server that takes messages of e-mail.
type Server struct {
	Host string
	Port int
	// Security is how the connection is protected.
	Security Security
	// User and Password sign in there; an empty user does not.
	User, Password string
	// Roots are the certificates that the server's must lead to; nil takes the system's.
	Roots *x509.CertPool
	// From is the address of the sender.
	From string
}

// Security is how a connection to a mail server is protected.
type Security string

// The ways. Without protection only a server on this computer is spoken to.
const (
	StartTLS    Security = "starttls"
	TLS         Security = "tls"
	Unprotected Security = "none"
)

// refused is an error that says no to the message itself: to ask again would not help.
type refused struct{ error }

func (r refused) Unwrap() error { return r.error }

// mail sends a message by e-mail. Nothing waits for its answer but this goroutine.
func (s Server) mail(ctx context.Context, to string, m Message) error {
	client, err := mail.NewClient(s.Host, s.options()...)
	if err != nil {
		return fmt.Errorf("the mail server: %w", err)
	}
	text := mail.NewMsg()
	if err := errors.Join(text.From(s.From), text.To(to)); err != nil {
		return refused{fmt.Errorf("an e-mail address: %w", err)}
	}
	text.Subject(m.Subject)
	text.SetDateWithValue(m.Written)
	text.SetMessageID()
	text.SetBodyString(mail.TypeTextPlain, m.Text)
	err = client.DialAndSendWithContext(ctx, text)
	if no, is := errors.AsType[*mail.SendError](err); is && !no.IsTemp() && no.ErrorCode() >= 500 {
		return refused{fmt.Errorf("the mail server refuses a message to %s: %w", to, err)}
	}
	if err != nil {
		return fmt.Errorf("the mail server: %w", err)
	}
	return nil
}

func (s Server) options() []mail.Option {
	list := []mail.Option{mail.WithPort(s.Port), mail.WithTimeout(answerTime),
		mail.WithTLSConfig(&tls.Config{ServerName: s.Host, RootCAs: s.Roots, MinVersion: tls.VersionTLS12})}
	switch s.Security {
	case TLS:
		list = append(list, mail.WithSSL())
	case Unprotected:
		list = append(list, mail.WithTLSPolicy(mail.NoTLS))
	default:
		list = append(list, mail.WithTLSPolicy(mail.TLSMandatory))
	}
	if s.User != "" {
		list = append(list, mail.WithSMTPAuth(mail.SMTPAuthAutoDiscover), mail.WithUsername(s.User), mail.WithPassword(s.Password))
	}
	return list
}

// push posts a message as plain text, its subject first.
func (p Push) push(ctx context.Context, client *http.Client, m Message) error {
	request, err := http.NewRequestWithContext(ctx, http.MethodPost, p.URL, strings.NewReader(m.Subject+"\n\n"+m.Text))
	if err != nil {
		return refused{fmt.Errorf("the address for messages: %w", err)}
	}
	request.Header.Set("Content-Type", "text/plain; charset=utf-8")
	if p.Token != "" {
		request.Header.Set("Authorization", "Bearer "+p.Token)
	}
	answer, err := client.Do(request)
	if err != nil {
		return fmt.Errorf("the address for messages: %w", err)
	}
	defer answer.Body.Close()
	switch code := answer.StatusCode; {
	case code >= 200 && code < 300:
		return nil
	case code == http.StatusBadRequest || code == http.StatusRequestEntityTooLarge || code == http.StatusUnprocessableEntity:
		return refused{fmt.Errorf("the server for messages refuses a message: %s", answer.Status)}
	}
	return fmt.Errorf("the server for messages answered %s", answer.Status)
}
