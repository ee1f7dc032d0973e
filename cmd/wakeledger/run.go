package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os/signal"
	"slices"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/pflag"

	"wakeledger/wake"
)

// Exit codes.
const (
	exitDone   = 0
	exitFailed = 1 // data or input/output
	exitUsage  = 2
)

// work is what a command does.
type work func(ctx context.Context) error

// command is one of the program's commands.
type command struct {
	name, args, about string
	// least and most are how many arguments it takes; a most below 0 is any number.
	least, most int
	// limits say what it refuses to take in.
	limits, example string
	// begin makes the command's flags, besides those that all have, and the work to do when
	// they are set.
	begin func(e *env, fs *pflag.FlagSet) work
}

const (
	surveyLimits = "limits: a packed file unpacks to 250 times its size (NumPy .npz 1032 times) and\n64 GiB at most; 2147483647 samples; about 250 bytes of memory a sample"
	studyLimits  = "limits: a study file of 4 MiB; surveys as those of measure, all of them in\nmemory at once"
	rakeLimits   = "limits: a log of 1 GiB of text, which unpacks to 250 times its size at most; a\nlayout of 1 MiB"
	mergeLimits  = "limits: 4194304 snapshots of 2147483647 samples; about 300 bytes of memory a\nsample"
)

func commands() []command {
	return []command{
		{"check", "FILE…", "say what was understood of a file, and what is doubtful", 1, -1, surveyLimits, "slice.csv.gz", runCheck},
		{"measure", "FILE…", "drag, wake area, centroid and regions of each plane", 1, -1, surveyLimits, "slice.csv.gz --speed 25 --density 1.2 --pressure 0 --area 2.55 --out result", runMeasure},
		{"compare", "BASELINE VARIANT…", "differences at one station, each with a verdict", 2, -1, surveyLimits, `bare.csv fairing.csv --speed 25 --density 1.2 --pressure 0 --region "right wheel:0.66,1.8,0,1.0"`, runCompare},
		{"plan", "[PLANE…]", "what a pilot says of the record, runs and planes that a change needs", 0, -1, surveyLimits, `whole.csv.gz --speed 25 --density 1.2 --pressure 0 --area 2.55 --change "5 counts"`, runPlan},
		{"draft", "FOLDER", "write a study file of the exports in a folder", 1, 1, "", "exports", runDraft},
		{"study", "STUDY.toml", "all configurations at all stations, into a folder", 1, 1, studyLimits, "study.toml --out ledger", runStudy},
		{"average", "SNAPSHOT…", "time mean of snapshots, resolved stresses and their uncertainty", 1, -1, surveyLimits, `snapshots/bare_*.csv.zst --speed 25 --density 1.2 --pressure 0 --time-step "116.4 ms" --out mean`, runAverage},
		{"merge", "STATE…", "join averages of parts of a record, each the mean.state of its folder", 1, -1, mergeLimits, "part-*/mean.state --out mean", runMerge},
		{"demo", "", "write the campus-shuttle study into a folder and run it", 0, 0, "", "--out wakeledger-demo", runDemo},
		{"rake", "LOG…", "correct a tunnel rake's log into a plane with uncertainties", 1, -1, rakeLimits, "bare_rake.csv --layout rake.toml --out rake", runRake},
		{"version", "", "print the version", 0, 0, "", "", runVersion},
	}
}

// usage is the cure of a call that is wrong.
func (c *command) usage() string {
	return strings.TrimSpace("usage: wakeledger " + c.name + " [flags] " + c.args)
}

// takes refuses arguments that are empty, too few or too many.
func (c *command) takes(args []string) error {
	switch n := len(args); {
	case slices.Contains(args, ""):
		return &usageError{"an empty name among the arguments", c.usage()}
	case n < c.least:
		return &usageError{fmt.Sprintf("%s needs %s, %d given", c.name, c.args, n), c.usage()}
	case c.most >= 0 && n > c.most:
		return &usageError{fmt.Sprintf("%s takes %s alone, %d given", c.name, cmp.Or(c.args, "flags"), n), c.usage()}
	}
	return nil
}

// usageError is a call that cannot be carried out as written.
type usageError struct{ text, cure string }

func (e *usageError) Error() string {
	if e.cure == "" {
		return e.text
	}
	return e.text + "; " + e.cure
}

// errHelp says that help was printed as asked.
var errHelp = errors.New("help")

func run(args []string, stdout, stderr io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	// The first signal stops the run in good order, a second one at once.
	defer context.AfterFunc(ctx, stop)()
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	go watchMemory(ctx, cancel)
	out := &terminal{w: stdout}
	e := &env{stdout: out, stderr: stderr, ctx: ctx}
	err := untilStopped(ctx, func() error { return dispatch(ctx, e, args) })
	if out.err != nil && ctx.Err() == nil {
		err = out.err
	}
	switch {
	case err == nil, errors.Is(err, errHelp):
		return exitDone
	case ctx.Err() != nil:
		why := "stopped"
		if short, ok := errors.AsType[memoryError](context.Cause(ctx)); ok {
			why = short.Error()
		}
		fmt.Fprintln(stderr, "wakeledger: "+why)
		return exitFailed
	}
	for _, line := range errorLines(err) {
		fmt.Fprintln(stderr, "wakeledger: "+line)
	}
	var usage *usageError
	var in *wake.InputError
	// A fault of the flags alone carries no file.
	if errors.As(err, &usage) || errors.As(err, &in) && in.File == "" {
		return exitUsage
	}
	return exitFailed
}

// patience is how long a stopped run may take to end in good order.
const patience = 300 * time.Millisecond

// untilStopped calls work and returns its error, or soon after ctx has ended that of
// ctx: the mesh or the integrals of millions of samples take many seconds and do not
// look at the context. The work is then left alone, for the process to end with it. It has
// nothing outside the memory but the files that it writes, and these are waited for; from
// then on none are begun.
func untilStopped(ctx context.Context, work func() error) error {
	done := make(chan error, 1)
	go func() { done <- work() }()
	select {
	case err := <-done:
		return err
	case <-ctx.Done():
	}
	select {
	case err := <-done:
		return err
	case <-time.After(patience):
	}
	writing.Lock()
	select {
	case err := <-done:
		writing.Unlock()
		return err
	default:
		return ctx.Err()
	}
}

func dispatch(ctx context.Context, e *env, args []string) error {
	if len(args) == 0 {
		overview(e.stderr)
		return &usageError{"no command", "name one of the commands above"}
	}
	switch args[0] {
	case "-h", "--help", "help":
		overview(e.stdout)
		return nil
	case "--version":
		args = []string{"version"}
	}
	var names []string
	for _, c := range commands() {
		if c.name == args[0] {
			e.command = c
			fs := e.flags()
			do := c.begin(e, fs)
			if err := e.parse(fs, args[1:]); err != nil {
				return err
			}
			return do(ctx)
		}
		names = append(names, c.name)
	}
	return &usageError{fmt.Sprintf("command %q is not known", args[0]), "one of " + strings.Join(names, ", ") + " is expected"}
}

func overview(w io.Writer) {
	fmt.Fprint(w, "wakeledger keeps the drag ledger of a vehicle's wake.\n\nusage: wakeledger COMMAND [flags] [arguments]\n\n")
	for _, c := range commands() {
		fmt.Fprintf(w, "  %-28s %s\n", strings.TrimSpace(c.name+" "+c.args), c.about)
	}
	fmt.Fprintln(w, "\nwakeledger COMMAND --help lists the flags of a command.")
	fmt.Fprintln(w, "Exit code: 0 done, 1 data or input/output failed, 2 wrong usage.")
}

// parse reads the flags of a command, and notes its arguments as files that are read; --help
// prints the flags.
func (e *env) parse(fs *pflag.FlagSet, args []string) error {
	fs.SetOutput(io.Discard)
	all := fs.Bool("help-all", false, "list all flags")
	fs.Lookup("help-all").Hidden = true
	err := fs.Parse(args)
	if errors.Is(err, pflag.ErrHelp) || err == nil && *all {
		e.help(fs, *all || slices.Contains(args, "--help-all"))
		return errHelp
	}
	if in, ok := errors.AsType[*wake.InputError](err); ok {
		return in // a setting's, which says what is expected
	}
	if err != nil {
		return &usageError{flagFault(err), "see wakeledger " + e.command.name + " --help"}
	}
	if fs.Changed("out") && e.out == "" {
		return &usageError{"--out is empty", "name a folder"}
	}
	e.reads(fs.Args()...)
	return e.command.takes(fs.Args())
}

// flagFault words an error of the flags: what was given, and what is expected.
func flagFault(err error) string {
	var bad *pflag.InvalidValueError
	if !errors.As(err, &bad) {
		return err.Error()
	}
	kind := bad.GetFlag().Value.Type()
	want := cmp.Or(map[string]string{"bool": "true or false", "int": "a whole number"}[kind], "a "+kind)
	return fmt.Sprintf("--%s %q: %s is expected", bad.GetFlag().Name, bad.GetValue(), want)
}
