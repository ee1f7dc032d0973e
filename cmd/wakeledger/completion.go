package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/pflag"
)

// runCompletion prints what a shell needs to complete commands and flags.
func runCompletion(e *env, fs *pflag.FlagSet) work {
	return func(ctx context.Context) error {
		write := map[string]func([]commandFlags) string{"bash": bashCompletion, "zsh": zshCompletion, "fish": fishCompletion}[fs.Arg(0)]
		if write == nil {
			return &usageError{fmt.Sprintf("shell %q is not known", fs.Arg(0)), "bash, zsh or fish is expected"}
		}
		_, err := fmt.Fprint(e.stdout, write(allFlags()))
		return err
	}
}

// commandFlags are the words that may follow a command.
type commandFlags struct {
	command
	flags []*pflag.Flag
}

// allFlags asks every command for its flags.
func allFlags() (out []commandFlags) {
	for _, c := range commands() {
		e, cf := &env{command: c}, commandFlags{command: c}
		fs := e.flags()
		c.begin(e, fs)
		fs.VisitAll(func(f *pflag.Flag) { cf.flags = append(cf.flags, f) })
		out = append(out, cf)
	}
	return out
}

func (c commandFlags) words() string {
	var w []string
	for _, f := range c.flags {
		w = append(w, "--"+f.Name)
	}
	return strings.Join(append(w, "--help"), " ")
}

func names(all []commandFlags) string {
	var w []string
	for _, c := range all {
		w = append(w, c.name)
	}
	return strings.Join(w, " ")
}

func bashCompletion(all []commandFlags) string {
	var b strings.Builder
	b.WriteString("_wakeledger() {\n  local cur=${COMP_WORDS[COMP_CWORD]} words=\n  COMPREPLY=()\n")
	fmt.Fprintf(&b, "  if [ \"$COMP_CWORD\" -eq 1 ]; then\n    words=%q\n  elif [[ $cur == -* ]]; then\n    case ${COMP_WORDS[1]} in\n", names(all))
	for _, c := range all {
		fmt.Fprintf(&b, "      %s) words=%q ;;\n", c.name, c.words())
	}
	b.WriteString("    esac\n  elif [ \"${COMP_WORDS[1]}\" = completion ]; then\n    words=\"bash zsh fish\"\n  fi\n  if [ -n \"$words\" ]; then COMPREPLY=($(compgen -W \"$words\" -- \"$cur\")); fi\n}\ncomplete -o default -F _wakeledger wakeledger\n")
	return b.String()
}

// zshCompletion leans on zsh's own reading of bash completion.
func zshCompletion(all []commandFlags) string {
	return "autoload -Uz compinit bashcompinit\ncompinit\nbashcompinit\n" + bashCompletion(all)
}

func fishCompletion(all []commandFlags) string {
	quote := func(s string) string { return "'" + strings.NewReplacer(`\`, `\\`, "'", `\'`).Replace(s) + "'" }
	var b strings.Builder
	for _, c := range all {
		fmt.Fprintf(&b, "complete -c wakeledger -n __fish_use_subcommand -a %s -d %s\n", c.name, quote(c.about))
		for _, f := range c.flags {
			_, about := pflag.UnquoteUsage(f)
			fmt.Fprintf(&b, "complete -c wakeledger -n '__fish_seen_subcommand_from %s' -l %s -d %s\n", c.name, f.Name, quote(about))
		}
	}
	b.WriteString("complete -c wakeledger -n '__fish_seen_subcommand_from completion' -a 'bash zsh fish'\n")
	return b.String()
}
