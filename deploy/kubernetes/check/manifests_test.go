// Package check holds the manifests beside it against Kubernetes itself: its types, the
// validation that its API server does, and its policy for pods. It is a module of its own,
// so that the program's has none of these dependencies.
package check

import (
	"os"
	"testing"

	appsv1 "k8s.io/api/apps/v1"
	batchv1 "k8s.io/api/batch/v1"
	corev1 "k8s.io/api/core/v1"
	"k8s.io/apimachinery/pkg/runtime"
	"k8s.io/apimachinery/pkg/runtime/serializer"
	"k8s.io/kubernetes/pkg/api/legacyscheme"
	_ "k8s.io/kubernetes/pkg/apis/apps/install"
	_ "k8s.io/kubernetes/pkg/apis/autoscaling/install"
	_ "k8s.io/kubernetes/pkg/apis/batch/install"
	_ "k8s.io/kubernetes/pkg/apis/core/install"
	_ "k8s.io/kubernetes/pkg/apis/networking/install"
	_ "k8s.io/kubernetes/pkg/apis/policy/install"
	"sigs.k8s.io/kustomize/api/krusty"
	"sigs.k8s.io/kustomize/kyaml/filesys"
)

// strict reads a manifest, and refuses fields that its type doesn't have.
func strict() runtime.Decoder {
	return serializer.NewCodecFactory(legacyscheme.Scheme, serializer.EnableStrict).UniversalDeserializer()
}

// built are the objects of the kustomization, with what Kubernetes adds by default.
func built(t *testing.T) []runtime.Object {
	t.Helper()
	made, err := krusty.MakeKustomizer(krusty.MakeDefaultOptions()).Run(filesys.MakeFsOnDisk(), "..")
	if err != nil {
		t.Fatal(err)
	}
	var list []runtime.Object
	for _, r := range made.Resources() {
		raw, err := r.AsYAML()
		if err != nil {
			t.Fatal(err)
		}
		object, _, err := strict().Decode(raw, nil, nil)
		if err != nil {
			t.Fatalf("%s %s: %v", r.GetKind(), r.GetName(), err)
		}
		legacyscheme.Scheme.Default(object)
		list = append(list, object)
	}
	return list
}

// all are the objects of one type, at least one.
func all[T runtime.Object](t *testing.T, objects []runtime.Object) []T {
	t.Helper()
	var list []T
	for _, o := range objects {
		if is, ok := o.(T); ok {
			list = append(list, is)
		}
	}
	if len(list) == 0 {
		t.Fatalf("there is no %T", *new(T))
	}
	return list
}

// podTemplates are the templates of all pods, by the name of what makes them.
func podTemplates(t *testing.T, objects []runtime.Object) map[string]*corev1.PodTemplateSpec {
	t.Helper()
	list := map[string]*corev1.PodTemplateSpec{}
	for _, d := range all[*appsv1.Deployment](t, objects) {
		list[d.Name] = &d.Spec.Template
	}
	for _, j := range all[*batchv1.Job](t, objects) {
		list[j.Name] = &j.Spec.Template
	}
	return list
}

// TestPodsFinishWhatTheyBegan looks at what keeps requests whole while pods come and go.
func TestPodsFinishWhatTheyBegan(t *testing.T) {
	d := all[*appsv1.Deployment](t, built(t))[0]
	pod := d.Spec.Template.Spec
	c := pod.Containers[0]
	if c.ReadinessProbe == nil || c.ReadinessProbe.HTTPGet.Path != "/readyz" || c.LivenessProbe == nil || c.LivenessProbe.HTTPGet.Path != "/healthz" {
		t.Error("the probes don't ask /readyz and /healthz")
	}
	if *pod.TerminationGracePeriodSeconds < 30 {
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
	if _, _, err := strict().Decode(append(raw, "  selectors: {}\n"...), nil, nil); err == nil {
		t.Error("a field that a Service doesn't have was taken")
	}
}
