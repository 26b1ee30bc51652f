package rpc

import (
	"errors"
	"fmt"
	"time"

	grpcprom "github.com/grpc-ecosystem/go-grpc-middleware/providers/prometheus"
	"github.com/prometheus/client_golang/prometheus"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/reflect/protoreflect"

	arrisv1 "arris.example/proto/arris/v1"
	"arris.example/service/internal/fault"
)

// metrics counts calls. Every label takes its values from a list, so that no caller can make the metrics grow.
type metrics struct {
	server       *grpcprom.ServerMetrics
	solves       *prometheus.CounterVec
	refusals     *prometheus.CounterVec
	seconds      *prometheus.HistogramVec
	methods      map[string]string // full method name to its short one
	calculations map[string]bool   // full names of methods that calculate a set-up
}

// calculating is the service whose calls all count as calculations. Those of others do where they say what they calculate: to read a record is none.
const calculating = protoreflect.FullName("arris.v1.GrindService")

func newMetrics(registerer prometheus.Registerer, services []protoreflect.ServiceDescriptor) (*metrics, error) {
	m := &metrics{
		server: grpcprom.NewServerMetrics(),
		solves: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "arris_solves_total",
			Help: "Calculations, by kind of tool and support and by outcome: answered, refused or failed.",
		}, []string{"kind", "outcome"}),
		refusals: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "arris_refusals_total",
			Help: "Calls that were not answered, by the reason the caller was given.",
		}, []string{"reason"}),
		seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name:    "arris_call_seconds",
			Help:    "How long a call took, from the request read to the answer ready to be sent.",
			Buckets: prometheus.ExponentialBuckets(10e-6, 4, 10), // 10 µs to 2.6 s
		}, []string{"method"}),
		methods: map[string]string{}, calculations: map[string]bool{},
	}
	for _, service := range services {
		for i := range service.Methods().Len() {
			name := string(service.Methods().Get(i).Name())
			full := "/" + string(service.FullName()) + "/" + name
			m.methods[full], m.calculations[full] = name, service.FullName() == calculating
			m.seconds.WithLabelValues(name) // so that it is there before the first call
		}
	}
	if err := m.register(registerer); err != nil {
		return nil, err
	}
	return m, nil
}

func (m *metrics) register(registerer prometheus.Registerer) error {
	var all []error
	for _, c := range []prometheus.Collector{m.server, m.solves, m.refusals, m.seconds} {
		all = append(all, registerer.Register(c))
	}
	if err := errors.Join(all...); err != nil {
		return fmt.Errorf("metrics: %w", err)
	}
	return nil
}

// observe counts one finished call.
func (m *metrics) observe(method string, call *call, refused *fault.Fault, took time.Duration) {
	if refused != nil {
		m.refusals.WithLabelValues(reasonLabel(refused.Reason)).Inc()
	}
	if m.calculations[method] || call.noted {
		m.solves.WithLabelValues(call.kind(), outcome(refused)).Inc()
	}
	if name, ok := m.methods[method]; ok {
		m.seconds.WithLabelValues(name).Observe(took.Seconds())
	}
}

// observeItem counts one item of many; the call that brought it is counted by itself.
func (m *metrics) observeItem(item *call, refused *fault.Fault) {
	if refused != nil {
		m.refusals.WithLabelValues(reasonLabel(refused.Reason)).Inc()
	}
	m.solves.WithLabelValues(item.kind(), outcome(refused)).Inc()
}

func outcome(refused *fault.Fault) string {
	switch {
	case refused == nil:
		return "answered"
	case refused.Kind == fault.Internal || refused.Kind == fault.Unavailable:
		return "failed"
	}
	return "refused"
}

func reasonLabel(r fault.Reason) string {
	if _, ok := arrisv1.Reason_value["REASON_"+string(r)]; ok {
		return string(r)
	}
	return "other"
}

// knownStreams is the library's own metrics for streams, without the calls to methods that do not exist: their names are
// whatever a caller cares to write.
func (m *metrics) knownStreams() grpc.StreamServerInterceptor {
	count := m.server.StreamServerInterceptor()
	return func(srv any, stream grpc.ServerStream, info *grpc.StreamServerInfo, handler grpc.StreamHandler) error {
		if srv == nil {
			return handler(srv, stream)
		}
		return count(srv, stream, info, handler)
	}
}
