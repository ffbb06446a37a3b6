package check

import (
	"os"
	"path"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"
	appsv1 "k8s.io/api/apps/v1"
	autoscalingv2 "k8s.io/api/autoscaling/v2"
	corev1 "k8s.io/api/core/v1"
	networkingv1 "k8s.io/api/networking/v1"
	policyv1 "k8s.io/api/policy/v1"
	metav1 "k8s.io/apimachinery/pkg/apis/meta/v1"
	"k8s.io/apimachinery/pkg/labels"
	"k8s.io/apimachinery/pkg/util/intstr"
)

// forOperators are the paths that don't belong on the internet.
var forOperators = map[string]bool{"/healthz": true, "/readyz": true, "/metrics": true}

// TestTheIngressReachesAllPages holds its paths against the contract's.
func TestTheIngressReachesAllPages(t *testing.T) {
	raw, err := os.ReadFile("../../../api/openapi.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var contract struct {
		Paths map[string]any `yaml:"paths"`
	}
	if err := yaml.Unmarshal(raw, &contract); err != nil {
		t.Fatal(err)
	}
	if len(contract.Paths) == 0 {
		t.Fatal("the contract has no paths")
	}
	ingress := all[*networkingv1.Ingress](t, built(t))[0]
	for asked := range contract.Paths {
		if reached := reaches(ingress, asked); reached == forOperators[asked] {
			t.Errorf("%s: reached by the ingress: %v", asked, reached)
		}
	}
}

// reaches says whether an ingress sends a path on. Of a prefix all parts between slashes
// must be the same.
func reaches(ingress *networkingv1.Ingress, asked string) bool {
	for _, p := range ingress.Spec.Rules[0].HTTP.Paths {
		if p.Path == asked || *p.PathType == networkingv1.PathTypePrefix && strings.HasPrefix(asked, path.Clean(p.Path)+"/") {
			return true
		}
	}
	return false
}

// TestWhatIsNamedIsThere follows the names from one object to another.
func TestWhatIsNamedIsThere(t *testing.T) {
	objects := built(t)
	d := all[*appsv1.Deployment](t, objects)[0]
	pods := podTemplates(t, objects)
	selects := func(what string, s *metav1.LabelSelector, pod *corev1.PodTemplateSpec) {
		chosen, err := metav1.LabelSelectorAsSelector(s)
		if err != nil || !chosen.Matches(labels.Set(pod.Labels)) {
			t.Errorf("%s doesn't select the pods %v: %v", what, pod.Labels, err)
		}
	}
	ports := map[string]bool{}
	for _, p := range d.Spec.Template.Spec.Containers[0].Ports {
		ports[p.Name] = true
	}
	needsPort := func(what string, port intstr.IntOrString) {
		if port.Type == intstr.String && !ports[port.StrVal] {
			t.Errorf("%s names the port %s", what, port.StrVal)
		}
	}

	service := all[*corev1.Service](t, objects)[0]
	selects("the service", &metav1.LabelSelector{MatchLabels: service.Spec.Selector}, &d.Spec.Template)
	named := map[string]bool{}
	for _, p := range service.Spec.Ports {
		needsPort("the service", p.TargetPort)
		named[p.Name] = true
	}
	for _, p := range all[*networkingv1.Ingress](t, objects)[0].Spec.Rules[0].HTTP.Paths {
		if to := p.Backend.Service; to.Name != service.Name || !named[to.Port.Name] {
			t.Errorf("%s leads to %s %s", p.Path, to.Name, to.Port.Name)
		}
	}
	if to := all[*autoscalingv2.HorizontalPodAutoscaler](t, objects)[0].Spec.ScaleTargetRef; to.Kind != "Deployment" || to.Name != d.Name {
		t.Errorf("the autoscaler scales %v", to)
	}
	selects("the budget", all[*policyv1.PodDisruptionBudget](t, objects)[0].Spec.Selector, &d.Spec.Template)

	for _, p := range all[*networkingv1.NetworkPolicy](t, objects) {
		selects("the policy "+p.Name, &p.Spec.PodSelector, &d.Spec.Template)
		for _, in := range p.Spec.Ingress {
			for _, port := range in.Ports {
				needsPort("the policy "+p.Name, *port.Port)
			}
		}
		if p.Name == "to-postgres" { // all pods need it
			for _, pod := range pods {
				selects("the policy "+p.Name, &p.Spec.PodSelector, pod)
			}
		}
	}
}
