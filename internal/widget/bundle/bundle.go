// Package bundle joins the TypeScript of the pages, with the libraries that it
// imports, into the scripts and style sheets that browsers load.
package bundle

import (
	"errors"
	"path"
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

// exposed has what tests call of the sources. Its bundle leaves that in a variable of
// the same name.
const exposed = "testdata/exposed.ts"

// Files gives all bundles by their paths in the folder that has the sources.
func Files(folder string) (map[string][]byte, error) {
	options, err := optionsFor(folder)
	if err != nil {
		return nil, err
	}
	files := map[string][]byte{}
	options.EntryPoints, options.Outdir = entries, "dist"
	if err := build(options, files); err != nil {
		return nil, err
	}
	options.EntryPoints, options.Outdir, options.GlobalName = []string{exposed}, "testdata", "exposed"
	return files, build(options, files)
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

// build adds the bundles of the entry points to files.
func build(options api.BuildOptions, files map[string][]byte) error {
	result := api.Build(options)
	if len(result.Errors)+len(result.Warnings) > 0 {
		messages := api.FormatMessages(append(result.Errors, result.Warnings...), api.FormatMessagesOptions{})
		return errors.New(strings.Join(messages, "\n"))
	}
	for _, file := range result.OutputFiles {
		files[path.Join(options.Outdir, filepath.Base(file.Path))] = file.Contents
	}
	return nil
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
