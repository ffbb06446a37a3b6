module till

go 1.26.0

require midstroke-client v0.0.0

require (
	github.com/apapsch/go-jsonmerge/v2 v2.0.0 // indirect
	github.com/google/uuid v1.6.0 // indirect
	github.com/oapi-codegen/runtime v1.9.0 // indirect
	go.yaml.in/yaml/v3 v3.0.5 // indirect
)

replace midstroke-client => ../../../api/clients/go
