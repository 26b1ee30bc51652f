package arris

import (
	"crypto/tls"
	"net"
	"strings"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials"
	"google.golang.org/grpc/credentials/insecure"
)

// connect gives the connection to ask, and what ends it.
func (p *program) connect(c callFlags) (grpc.ClientConnInterface, func() error, error) {
	if c.Server == "" {
		return p.local()
	}
	host, port, err := net.SplitHostPort(c.Server)
	if err != nil || host == "" || port == "" {
		return nil, nil, wrongUsage("--server is %q; write HOST:PORT, such as localhost:8081 or [::1]:8081", c.Server)
	}
	conn, err := grpc.NewClient("passthrough:///"+c.Server, grpc.WithTransportCredentials(protection(host, c.Plaintext)),
		grpc.WithUserAgent("arris"), grpc.WithDefaultCallOptions(grpc.MaxCallRecvMsgSize(mostAnswerBytes)))
	if err != nil {
		return nil, nil, usageError{err}
	}
	return conn, conn.Close, nil
}

// protection is TLS unless the server is on this machine or the caller wants none.
func protection(host string, plaintext bool) credentials.TransportCredentials {
	if plaintext || isLoopback(host) {
		return insecure.NewCredentials()
	}
	return credentials.NewTLS(&tls.Config{MinVersion: tls.VersionTLS12})
}

func isLoopback(host string) bool {
	if strings.EqualFold(host, "localhost") {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && ip.IsLoopback()
}
