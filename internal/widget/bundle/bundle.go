// Package bundle joins the TypeScript of the pages, with the libraries that it
// imports, into the scripts and style sheets that browsers load.
package bundle

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/evanw/esbuild/pkg/api"
)

// entries are the files that nothing else imports. Each becomes a bundle of its
// own name.
var entries = []string{
	"src/widget/midstroke.tsx",
	"src/counter/counter.tsx", "src/counter/counter.css",
	"src/sheet/sheet.tsx", "src/sheet/sheet.css",
	"src/batch/batch.tsx", "src/batch/batch.css",
}

// Files gives all bundles by name, made from the sources in a folder.
func Files(folder string) (map[string][]byte, error) {
	options, err := optionsFor(folder)
	if err != nil {
		return nil, err
	}
	options.EntryPoints = entries
	options.Outdir = "dist"
	return build(options)
}

// Exposed gives a module and what it imports as a script that leaves some of
// its exports on the page under their own names, for tests to call.
func Exposed(folder, module string, names ...string) (string, error) {
	options, err := optionsFor(folder)
	if err != nil {
		return "", err
	}
	list := strings.Join(names, ", ")
	options.Stdin = &api.StdinOptions{
		Contents:   fmt.Sprintf("import { %s } from %q; Object.assign(globalThis, { %s });", list, "./"+module, list),
		ResolveDir: options.AbsWorkingDir,
	}
	options.Outfile = "exposed.js"
	files, err := build(options)
	return string(files["exposed.js"]), err
}

func optionsFor(folder string) (api.BuildOptions, error) {
	folder, err := filepath.Abs(folder)
	return api.BuildOptions{
		AbsWorkingDir: folder, EntryNames: "[name]", ResolveExtensions: []string{".tsx", ".ts", ".mjs"},
		Bundle: true, Format: api.FormatIIFE, Platform: api.PlatformBrowser, Charset: api.CharsetUTF8,
		MinifyWhitespace: true, MinifyIdentifiers: true, MinifySyntax: true,
		// The licences of what is bundled go with it.
		LegalComments: api.LegalCommentsEndOfFile,
		Plugins:       []api.Plugin{stylesAsText},
	}, err
}

func build(options api.BuildOptions) (map[string][]byte, error) {
	result := api.Build(options)
	if len(result.Errors)+len(result.Warnings) > 0 {
		messages := api.FormatMessages(append(result.Errors, result.Warnings...), api.FormatMessagesOptions{})
		return nil, errors.New(strings.Join(messages, "\n"))
	}
	files := map[string][]byte{}
	for _, file := range result.OutputFiles {
		files[filepath.Base(file.Path)] = file.Contents
	}
	return files, nil
}

// stylesAsText makes a style sheet that a script imports a string that holds
// the sheet with all that it imports in turn.
var stylesAsText = api.Plugin{Name: "styles as text", Setup: func(build api.PluginBuild) {
	const namespace = "style"
	build.OnResolve(api.OnResolveOptions{Filter: `\.css$`}, func(args api.OnResolveArgs) (api.OnResolveResult, error) {
		if args.Kind != api.ResolveJSImportStatement {
			return api.OnResolveResult{}, nil
		}
		return api.OnResolveResult{Path: filepath.Join(args.ResolveDir, args.Path), Namespace: namespace}, nil
	})
	build.OnLoad(api.OnLoadOptions{Filter: ".", Namespace: namespace}, func(args api.OnLoadArgs) (api.OnLoadResult, error) {
		styles := api.Build(api.BuildOptions{EntryPoints: []string{args.Path}, Bundle: true, Charset: api.CharsetUTF8, MinifyWhitespace: true, MinifySyntax: true})
		if len(styles.Errors) > 0 {
			return api.OnLoadResult{Errors: styles.Errors}, nil
		}
		text := string(styles.OutputFiles[0].Contents)
		return api.OnLoadResult{Contents: &text, Loader: api.LoaderText}, nil
	})
}}
