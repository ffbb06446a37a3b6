package check

import (
	"testing"

	corev1 "k8s.io/api/core/v1"
	metav1 "k8s.io/apimachinery/pkg/apis/meta/v1"
	"k8s.io/apimachinery/pkg/runtime"
	"k8s.io/apimachinery/pkg/runtime/schema"
	"k8s.io/apimachinery/pkg/util/validation/field"
	"k8s.io/kubernetes/pkg/api/legacyscheme"
	"k8s.io/kubernetes/pkg/apis/apps"
	appsvalidation "k8s.io/kubernetes/pkg/apis/apps/validation"
	"k8s.io/kubernetes/pkg/apis/autoscaling"
	autoscalingvalidation "k8s.io/kubernetes/pkg/apis/autoscaling/validation"
	"k8s.io/kubernetes/pkg/apis/batch"
	batchvalidation "k8s.io/kubernetes/pkg/apis/batch/validation"
	"k8s.io/kubernetes/pkg/apis/core"
	corevalidation "k8s.io/kubernetes/pkg/apis/core/validation"
	"k8s.io/kubernetes/pkg/apis/networking"
	networkingvalidation "k8s.io/kubernetes/pkg/apis/networking/validation"
	"k8s.io/kubernetes/pkg/apis/policy"
	policyvalidation "k8s.io/kubernetes/pkg/apis/policy/validation"
	"k8s.io/pod-security-admission/api"
	admission "k8s.io/pod-security-admission/policy"
)

// validate is what the API server finds wrong in an object that is to be created. The
// object is one of asValidated.
func validate(t *testing.T, object runtime.Object) field.ErrorList {
	t.Helper()
	switch o := object.(type) {
	case *apps.Deployment:
		return appsvalidation.ValidateDeployment(o, corevalidation.PodValidationOptions{})
	case *batch.Job:
		// The API server makes a selector and its labels before it validates.
		own := true
		o.Spec.ManualSelector, o.Spec.Selector = &own, &metav1.LabelSelector{MatchLabels: o.Spec.Template.Labels}
		return batchvalidation.ValidateJob(o, batchvalidation.JobValidationOptions{})
	case *core.Service:
		return corevalidation.ValidateServiceCreate(o)
	case *core.Namespace:
		return corevalidation.ValidateNamespace(o)
	case *networking.NetworkPolicy:
		return networkingvalidation.ValidateNetworkPolicy(o, networkingvalidation.NetworkPolicyValidationOptions{})
	case *networking.Ingress:
		return networkingvalidation.ValidateIngressCreate(o)
	case *autoscaling.HorizontalPodAutoscaler:
		return autoscalingvalidation.ValidateHorizontalPodAutoscaler(o, autoscalingvalidation.HorizontalPodAutoscalerSpecValidationOptions{})
	case *policy.PodDisruptionBudget:
		return policyvalidation.ValidatePodDisruptionBudget(o, policyvalidation.PodDisruptionBudgetValidationOptions{})
	}
	t.Fatalf("the test doesn't know how %T is validated", object)
	return nil
}

// asValidated gives an object in the version in which the API server validates it.
func asValidated(t *testing.T, object runtime.Object) runtime.Object {
	t.Helper()
	kinds, _, err := legacyscheme.Scheme.ObjectKinds(object)
	if err != nil {
		t.Fatal(err)
	}
	within := schema.GroupVersion{Group: kinds[0].Group, Version: runtime.APIVersionInternal}
	converted, err := legacyscheme.Scheme.ConvertToVersion(object.DeepCopyObject(), within)
	if err != nil {
		t.Fatal(err)
	}
	return converted
}

// TestTheAPIServerTakesThem validates each object as the API server does.
func TestTheAPIServerTakesThem(t *testing.T) {
	for _, object := range built(t) {
		for _, fault := range validate(t, asValidated(t, object)) {
			t.Errorf("%T: %v", object, fault)
		}
	}
}

// TestWhatTheAPIServerRefusesIsFound shows that the validation finds faults.
func TestWhatTheAPIServerRefusesIsFound(t *testing.T) {
	s := all[*corev1.Service](t, built(t))[0].DeepCopy()
	s.Spec.Ports[0].Port = 80_000
	if len(validate(t, asValidated(t, s))) == 0 {
		t.Error("port 80000 was taken")
	}
}

// TestTheNamespaceAdmitsItsPods holds the pods against the policy that the namespace
// enforces.
func TestTheNamespaceAdmitsItsPods(t *testing.T) {
	objects := built(t)
	level, err := api.ParseLevel(all[*corev1.Namespace](t, objects)[0].Labels[api.EnforceLevelLabel])
	if err != nil || level != api.LevelRestricted {
		t.Fatalf("the namespace enforces %q: %v", level, err)
	}
	judge, err := admission.NewEvaluator(admission.DefaultChecks())
	if err != nil {
		t.Fatal(err)
	}
	enforced := api.LevelVersion{Level: level, Version: api.LatestVersion()}
	refused := func(pod *corev1.PodTemplateSpec) (why []string) {
		for _, r := range judge.EvaluatePod(enforced, &pod.ObjectMeta, &pod.Spec) {
			if !r.Allowed {
				why = append(why, r.ForbiddenReason+": "+r.ForbiddenDetail)
			}
		}
		return why
	}
	for name, pod := range podTemplates(t, objects) {
		for _, why := range refused(pod) {
			t.Errorf("%s: %s", name, why)
		}
		asRoot := pod.DeepCopy()
		*asRoot.Spec.SecurityContext.RunAsNonRoot = false
		if len(refused(asRoot)) == 0 {
			t.Errorf("%s would be admitted as root", name)
		}
	}
}
