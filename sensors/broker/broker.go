// Package broker opens lines that are subscriptions at an MQTT broker (MQTT 3.1.1), for probes
// that speak by radio. Messages that the broker retained are marked: they are of an earlier
// time. It is the one place that knows the library of MQTT, which is told to try nothing again
// by itself: a line that is lost is opened anew like any other.
package broker

import (
	"cmp"
	"context"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"net"
	"net/url"
	"slices"
	"strings"
	"time"

	mqtt "github.com/eclipse/paho.mqtt.golang"

	"wetside/sensors"
	"wetside/sensors/dialect"
	"wetside/sensors/feed"
	"wetside/sensors/quantity/phrase"
)

const (
	answerWithin = 5 * time.Second
	// keepAlive is how often a broker that says nothing is asked whether it is there.
	keepAlive = 15 * time.Second
	// waiting bounds the messages that wait for a slow receiver; then the broker waits.
	waiting = 64
)

// Opener subscribes to topics.
type Opener struct {
	Topics []string
	// User and Password are shown to the broker where User is not empty.
	User, Password string
	// Roots are who may vouch for the broker's certificate; nil for whom the computer trusts.
	Roots *x509.CertPool
}

var _ sensors.Opener = Opener{}

// Address is where a broker is.
type Address struct {
	// TLS is set for mqtts.
	TLS bool
	// Host is the name or address with the port.
	Host string
}

// Parse reads the path of a line: mqtts://broker.example.org:8883; the port may be left out.
func Parse(path string) (Address, error) {
	u, err := url.Parse(path)
	ports := map[string]string{"mqtt": "1883", "mqtts": "8883"}
	if strings.Contains(path, "@") { // without the path, which may hold a secret
		return Address{}, phrase.Errorf("the address of a broker must not contain a user or a password")
	}
	if err != nil || ports[u.Scheme] == "" || u.Hostname() == "" || u.Path+u.RawQuery+u.Fragment != "" {
		return Address{}, phrase.Errorf("%q is not the address of a broker: expected one like mqtts://broker.example.org:8883", path)
	}
	port := cmp.Or(u.Port(), ports[u.Scheme])
	return Address{TLS: u.Scheme == "mqtts", Host: net.JoinHostPort(u.Hostname(), port)}, nil
}

// Open connects and subscribes; see [sensors.Opener].
func (o Opener) Open(ctx context.Context, s sensors.LineSettings) (sensors.Line, error) {
	at, err := Parse(s.Path)
	if err != nil {
		return nil, err
	}
	l := subscription{messages: make(chan []byte, waiting), lost: make(chan error, 1), stop: make(chan struct{})}
	client := mqtt.NewClient(o.options(at, &l))
	err = l.settled(ctx, client.Connect())
	if err == nil {
		err = l.subscribe(ctx, client, o.Topics)
	}
	if err != nil {
		close(l.stop)
		client.Disconnect(0)
		return nil, phrase.Errorf("can't subscribe at %s: check that the broker runs, the address, the user and the certificate (%w)", s.Path,
			err)
	}
	return feed.Start(feed.Options{Path: s.Path, Fetch: l.fetch, Free: func() error {
		close(l.stop)
		client.Disconnect(0)
		return nil
	}}), nil
}

func (o Opener) options(at Address, l *subscription) *mqtt.ClientOptions {
	out := mqtt.NewClientOptions().SetProtocolVersion(4).SetClientID("wetside-" + rand.Text()[:12]).SetCleanSession(true).
		SetAutoReconnect(false).SetConnectRetry(false).SetConnectTimeout(answerWithin).SetWriteTimeout(answerWithin).
		SetKeepAlive(keepAlive).SetPingTimeout(answerWithin).
		SetConnectionLostHandler(func(_ mqtt.Client, err error) { l.lost <- err })
	scheme := "tcp://"
	if at.TLS {
		scheme = "ssl://"
		out.SetTLSConfig(&tls.Config{RootCAs: o.Roots, MinVersion: tls.VersionTLS12})
	}
	if o.User != "" {
		out.SetUsername(o.User).SetPassword(o.Password)
	}
	return out.AddBroker(scheme + at.Host)
}

// subscription is one connection with a broker.
type subscription struct {
	messages chan []byte
	lost     chan error
	stop     chan struct{}
}

func (l *subscription) settled(ctx context.Context, t mqtt.Token) error {
	limit := time.NewTimer(answerWithin)
	defer limit.Stop()
	select {
	case <-t.Done():
		return t.Error()
	case <-ctx.Done():
		return ctx.Err()
	case <-limit.C:
		return errors.New("the broker does not answer")
	}
}

// refusedTopic is what a broker answers for a topic that it does not give (MQTT 3.1.1, 3.9.3, from memory).
const refusedTopic = 0x80

func (l *subscription) subscribe(ctx context.Context, c mqtt.Client, topics []string) error {
	wanted := map[string]byte{}
	for _, topic := range topics {
		wanted[topic] = 0 // at most once: what comes again later would be old
	}
	t := c.SubscribeMultiple(wanted, func(_ mqtt.Client, m mqtt.Message) {
		select {
		case l.messages <- dialect.MQTTMessage(m.Topic(), m.Payload(), m.Retained()):
		case <-l.stop:
		}
	})
	if err := l.settled(ctx, t); err != nil {
		return err
	}
	if t, is := t.(*mqtt.SubscribeToken); is {
		answers := t.Result()
		if at := slices.IndexFunc(topics, func(topic string) bool { return answers[topic] == refusedTopic }); at >= 0 {
			return phrase.Errorf("the broker does not give the topic %q to this user", topics[at])
		}
	}
	return nil
}

func (l *subscription) fetch(ctx context.Context, push func([]byte)) error {
	for {
		select {
		case m := <-l.messages:
			push(m)
		case err := <-l.lost:
			return phrase.Errorf("%w: %w", sensors.ErrGone, err)
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}
