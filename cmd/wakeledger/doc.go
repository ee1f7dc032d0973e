/*
Wakeledger keeps the drag ledger of a vehicle's wake. It reads cross-flow planes behind
a vehicle, slices of a solver's solution or traverses of a tunnel rake, and tells how
much drag is in the wake, which part of the wake carries it, how far a wheel's wake moved
between two configurations, and whether the difference is real.

	wakeledger COMMAND [flags] [arguments]

Below, lines after a "$" are calls as they are run by a test, in the folder
examples/shuttle; "…" marks lines that are left out.

# Begin

The demo writes the study of a campus shuttle (bare, with a fairing behind each front
wheel, with a lip or a flare ahead of each) into a folder and runs it; report.html in its folder
ledger opens in any browser:

	wakeledger demo --out wakeledger-demo

Then look at a plane of your own. check says what was understood of it, in which units
and frame, and what is doubtful:

	$ wakeledger check bare_x-0.62.csv.zst
	bare_x-0.62.csv.zst
	===================
	Plane x = −0.6187 m (samples within 0 m of it). 11 108 samples as a lattice of nodes (by default),
	spacing 0.0375 m, 10 788 elements.
	…
	  u         u       m/s               file   −9.057   32.65  m/s
	…

Files may be delimited text in any dialect, the VTK library's formats or NumPy arrays,
plain or packed with gzip or zstd. What a file is, is found from its bytes. Columns are
found by their names and units; where they are not, --column says which is which, the
number of a column or one value for all samples included:

	$ wakeledger check bare_x-0.62.csv.zst --column p=7 --column "rho== 1.2 kg/m3" --quiet

"FILE1+FILE2" joins files of the same points that hold different quantities.

# Frame, units, reference

Inside all is SI, x aft, y to the vehicle's right, z up. Another frame is declared, as in
--frame "x forward, y left, z up". A value may carry its unit: --speed "90 km/h". The
reference state is never guessed:

	$ wakeledger measure bare_x-0.62.csv.zst
	wakeledger: --speed is missing: it is the speed far upstream, as in --speed "25 m/s"; the reference is never guessed

In yaw, --yaw 5 says that the free stream has a part toward +y: the wind comes from the
left. --speed is then |V∞|, forces are over ½ρ|V∞|², and drag and side force are given
along the vehicle and along the stream.

# One plane

measure gives drag by each method that the plane allows, with its terms, the shape of the
wake, named regions and the uncertainty. Here each sample is the mean over a square of the
plane, which --support says; a point value, the default, does not cover the outer half of
the squares on the border:

	$ wakeledger measure bare_x+2.91_whole.csv.zst --speed 25 --density 1.2 --pressure 0 --area 2.58 --support cells
	bare_x+2.91_whole.csv.zst, plane x = 2.906 m
	============================================
	…
	  method                     drag area     C_D  remark
	…

--full prints every table, the budgets of uncertainty and each doubt with what would fix it.
The headline is the momentum integral where the window holds the wake, the wake-only
integral where it does not, and nothing where the plane cuts the body. Every number comes
with its method, window, reference, weight and threshold, in the text and in --json.

# What changed

compare sets variants against a baseline at one station, on the samples that they share or
each on its own:

	$ wakeledger compare bare_x-0.62.csv.zst fairing_x-0.62.csv.zst --speed 25 --density 1.2 --pressure 0 --support cells --region "right wheel:0.66,1.8,0,1.0" --side right
	Against bare_x-0.62, plane x = −0.619 m
	…
	  where  …
	…

A change inside its uncertainty is not resolved, however it looks. One whose time average
or run-to-run scatter is unknown is not judged, and its margin is given: the missing
uncertainty up to which it would be resolved. Positive inboard is toward the vehicle's centre plane.

# Before a run

plan says what a change of drag needs: how long a record, how many runs of each, how fine
a plane. It takes a record of the force (--force), the mean.state of snapshots or a plane
as the pilot that both configurations will be like, or several of a kind for several runs:

	$ wakeledger plan bare_x+2.91_whole.csv.zst --speed 25 --density 1.2 --pressure 0 --area 2.58 --support cells --effective-samples 40 --solution-band "0.1 %" --change "5 counts"
	To resolve: 0.013 m² (0.6 % of the drag) between two configurations measured like the pilot
	plane: bare_x+2.91_whole.csv.zst: …
	verdict: …
	…

# A study

study reads all configurations and stations from one file in TOML and writes a folder: the
ledger as text, CSV, Markdown and JSON, the maps, and report.html, which needs no network.

	wakeledger study study.toml --out ledger

Differences are from the file's baseline, or from the configuration that --against names;
those of drag between any two are in pairs.csv. Where several stations hold the wake, the
changes of drag are pooled too: only sampling errors are independent between stations.

draft looks at a folder of exports and writes such a file into it: configurations and further
runs by names, stations by position, inlet planes and force records; what no file tells, as
the density, is a commented line to fill in:

	wakeledger draft exports

The file has the words of the flags; an unknown one is refused with its line and the
nearest known one. examples/shuttle/study.toml is one to begin from. --only "fairing,near wake"
runs a configuration, with the baseline, at one station alone (--only fairing at all, --only
",near wake" all there). Then the folder's ledger, tables and page are of this part and say
so in title and text: nothing in them is older than the files that were read. Pictures of the
rest stay in maps and charts.

maps has, for each station and quantity, a sheet of all configurations and their changes, and
one for each variant from station to station. --single-maps, or single = true in the study's
[maps], adds a map of each survey. --summary adds summary.html, two pages for print.

# Tunnel rakes and snapshots

rake corrects a log into a plane: zeros, drift, blocked tubes, reference of each row,
displacement in shear. A layout says which column is which tube; a draft is made from the
log's header:

	wakeledger rake --draft-layout log.csv > rake.toml
	wakeledger rake log.csv --layout rake.toml --out rake

average makes the mean of snapshots, with resolved stresses. Its mean.state is measured
like a plane, and what comes of it includes time averaging, by leaving out blocks of the
record. A record that switches between two states is told, with the share of time in each;
--state 1 averages the one with the lower drag, --state 2 the other. Parts of a record are
averaged apart with --first and their mean.state joined by merge, bit for bit the same in
any order.

# What comes out

Only study, demo and draft write without --out. Everything is made first, then written beside
its place and renamed. A folder that was not there appears whole. In one that was there
files are replaced one after the other, in milliseconds; if one cannot be, the others are
taken back, or named. Only a kill within those milliseconds leaves old files beside new
ones. Runs into one folder put their files there one after the other. What a killed run
leaves, .wakeledger….part and .wakeledger.lock, stops none and is removed by the next run
that writes there. A file that is gone before it is in place fails the run. Files that were
read are never written over.

The same input gives the same bytes on any number of cores.

# Errors, warnings, exit codes

An error is one line: file, line and field, what was found, what is expected and how to fix
it. A warning is a note under the result; --strict makes warnings fail. The exit code is
0 when done, 1 when data or files failed, 2 for a call that cannot be carried out:

	$ wakeledger measure bare_x-0.62.csv.zst --speed NaN
	wakeledger: --speed is "NaN": "NaN" does not begin with a number; write a number with its unit, as in "25 m/s"
	$ wakeledger mesure
	wakeledger: command "mesure" is not known; one of check, measure, …

# Limits

A packed file unpacks to 250 times its size (NumPy .npz 1032 times) and 64 GiB at most. A
plane has up to 2147483647 samples and takes about 250 bytes of memory for each. Numbers
beyond 1e9 m, or 1e18 of any other unit, are refused, and so are infinite ones; nan or an
empty field is a missing value, whose row is left out and counted. A log of a rake holds
up to 1 GiB, its layout 1 MiB, a study file 4 MiB.

COMMAND --help lists the flags that are often needed, --help-all lists all.
*/
package main
