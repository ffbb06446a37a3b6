package main_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/prometheus/common/expfmt"
	"github.com/prometheus/common/model"
	"go.yaml.in/yaml/v3"
)

const monitoring = "../../deploy/monitoring/"

// expressions gives the PromQL of the dashboard and of the alerts, by title.
func expressions(t *testing.T) map[string]string {
	t.Helper()
	all := map[string]string{}
	raw, err := os.ReadFile(monitoring + "dashboard.json")
	if err != nil {
		t.Fatal(err)
	}
	var dashboard struct {
		Panels []struct {
			Title   string
			Targets []struct{ RefID, Expr string }
		}
		Templating struct{ List []struct{ Query string } }
	}
	if err := json.Unmarshal(raw, &dashboard); err != nil {
		t.Fatal(err)
	}
	for _, p := range dashboard.Panels {
		for _, target := range p.Targets {
			all[p.Title+" "+target.RefID] = target.Expr
		}
	}
	if raw, err = os.ReadFile(monitoring + "alerts.yml"); err != nil {
		t.Fatal(err)
	}
	var rules struct {
		Groups []struct {
			Rules []struct{ Alert, Expr string }
		}
	}
	if err := yaml.Unmarshal(raw, &rules); err != nil {
		t.Fatal(err)
	}
	for _, r := range rules.Groups[0].Rules {
		all[r.Alert] = r.Expr
	}
	if len(all) < 20 {
		t.Fatalf("only %d expressions were found", len(all))
	}
	return all
}

var (
	ownMetric = regexp.MustCompile(`\b(?:midstroke|go|process)_[a-z_]+`)
	selector  = regexp.MustCompile(`\b(midstroke_[a-z_]+)\{([^}]*)\}`)
	labelName = regexp.MustCompile(`([a-z_]+)(?:=~|!~|!=|=)`)
	suffix    = regexp.MustCompile(`_(bucket|sum|count)$`)
)

// TestMonitoringNamesWhatTheServiceExports holds the dashboard and the alerts
// against /metrics of the real program.
func TestMonitoringNamesWhatTheServiceExports(t *testing.T) {
	t.Parallel()
	s := serve(t, "--data-dir", usedDataDir(t), "--rate-address", "100000/10s")
	res, err := http.Get(s.url + "/metrics")
	if err != nil {
		t.Fatal(err)
	}
	_ = res.Body.Close() // this request is in the next answer
	if res, err = http.Get(s.url + "/metrics"); err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	parser := expfmt.NewTextParser(model.UTF8Validation)
	exported, err := parser.TextToMetricFamilies(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	for title, expr := range expressions(t) {
		for _, name := range ownMetric.FindAllString(expr, -1) {
			if exported[name] == nil && exported[suffix.ReplaceAllString(name, "")] == nil {
				t.Errorf("%s: %s isn't exported", title, name)
			}
		}
		for _, m := range selector.FindAllStringSubmatch(expr, -1) {
			family := exported[suffix.ReplaceAllString(m[1], "")]
			if family == nil {
				continue
			}
			labels := map[string]bool{"job": true, "instance": true} // Prometheus adds these
			for _, l := range family.Metric[0].Label {
				labels[l.GetName()] = true
			}
			for _, l := range labelName.FindAllStringSubmatch(m[2], -1) {
				if !labels[l[1]] {
					t.Errorf("%s: %s has no label %s", title, m[1], l[1])
				}
			}
		}
	}
	s.interrupt(t)
}

// TestMonitoringIsPromQL gives all expressions to promtool, where that is installed.
func TestMonitoringIsPromQL(t *testing.T) {
	promtool, err := exec.LookPath("promtool")
	if errors.Is(err, exec.ErrNotFound) {
		t.Skip("promtool isn't installed (Debian, Ubuntu: apt-get install prometheus)")
	}
	var rules bytes.Buffer
	rules.WriteString("groups:\n- name: all\n  rules:\n")
	i := 0
	for _, expr := range expressions(t) {
		i++
		fmt.Fprintf(&rules, "  - record: expression_%d\n    expr: %q\n", i, strings.ReplaceAll(expr, "$__rate_interval", "5m"))
	}
	file := filepath.Join(t.TempDir(), "rules.yml")
	if err := os.WriteFile(file, rules.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, check := range []string{file, monitoring + "alerts.yml"} {
		if out, err := exec.Command(promtool, "check", "rules", check).CombinedOutput(); err != nil {
			t.Errorf("%v: %s", err, out)
		}
	}
}
