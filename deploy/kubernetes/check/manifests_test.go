// Package check holds the manifests beside it against Kubernetes' own types. It is a
// module of its own, so that the program's has none of these dependencies.
package check

import (
	"os"
	"testing"

	appsv1 "k8s.io/api/apps/v1"
	autoscalingv2 "k8s.io/api/autoscaling/v2"
	batchv1 "k8s.io/api/batch/v1"
	corev1 "k8s.io/api/core/v1"
	networkingv1 "k8s.io/api/networking/v1"
	policyv1 "k8s.io/api/policy/v1"
	"k8s.io/apimachinery/pkg/runtime"
	"k8s.io/apimachinery/pkg/runtime/serializer"
	utilruntime "k8s.io/apimachinery/pkg/util/runtime"
	"sigs.k8s.io/kustomize/api/krusty"
	"sigs.k8s.io/kustomize/kyaml/filesys"
)

// strict reads a manifest, and refuses fields that its type doesn't have.
func strict(t *testing.T) runtime.Decoder {
	t.Helper()
	scheme := runtime.NewScheme()
	for _, add := range []func(*runtime.Scheme) error{
		appsv1.AddToScheme, autoscalingv2.AddToScheme, batchv1.AddToScheme, corev1.AddToScheme, networkingv1.AddToScheme, policyv1.AddToScheme,
	} {
		utilruntime.Must(add(scheme))
	}
	return serializer.NewCodecFactory(scheme, serializer.EnableStrict).UniversalDeserializer()
}

// TestManifestsAreWhatKubernetesKnows builds the kustomization and decodes what comes
// out.
func TestManifestsAreWhatKubernetesKnows(t *testing.T) {
	built, err := krusty.MakeKustomizer(krusty.MakeDefaultOptions()).Run(filesys.MakeFsOnDisk(), "..")
	if err != nil {
		t.Fatal(err)
	}
	decoder := strict(t)
	kinds := map[string]int{}
	for _, r := range built.Resources() {
		raw, err := r.AsYAML()
		if err != nil {
			t.Fatal(err)
		}
		object, kind, err := decoder.Decode(raw, nil, nil)
		if err != nil {
			t.Errorf("%s %s: %v", r.GetKind(), r.GetName(), err)
			continue
		}
		kinds[kind.Kind]++
		if d, ok := object.(*appsv1.Deployment); ok {
			checkDeployment(t, d)
		}
	}
	for _, kind := range []string{"Namespace", "Job", "Service", "Deployment", "HorizontalPodAutoscaler", "PodDisruptionBudget", "NetworkPolicy", "Ingress"} {
		if kinds[kind] == 0 {
			t.Errorf("there is no %s", kind)
		}
	}
}

// checkDeployment looks at what keeps requests whole while pods come and go.
func checkDeployment(t *testing.T, d *appsv1.Deployment) {
	t.Helper()
	pod := d.Spec.Template.Spec
	c := pod.Containers[0]
	if c.ReadinessProbe == nil || c.ReadinessProbe.HTTPGet.Path != "/readyz" || c.LivenessProbe == nil || c.LivenessProbe.HTTPGet.Path != "/healthz" {
		t.Error("the probes don't ask /readyz and /healthz")
	}
	if pod.TerminationGracePeriodSeconds == nil || *pod.TerminationGracePeriodSeconds < 30 {
		t.Error("a pod has less than 30 s to finish")
	}
	if c.Image != "midstroke:0.1.0" {
		t.Errorf("the image is %s", c.Image)
	}
}

// TestAFieldThatIsNoneIsRefused shows that the decoding is strict.
func TestAFieldThatIsNoneIsRefused(t *testing.T) {
	raw, err := os.ReadFile("../service.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := strict(t).Decode(append(raw, "  selectors: {}\n"...), nil, nil); err == nil {
		t.Error("a field that a Service doesn't have was taken")
	}
}
