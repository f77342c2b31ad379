//! The command line: the jobs of the window, for scripts.
//!
//! Raw arguments become checked ones before any work. What a command finds goes to the output, what went
//! wrong is one sentence on the error output, and the exit code says which of the two it was: 0 fine, 1 done
//! with warnings, 2 failed or called wrongly.

mod accept;
mod answers;
mod calibration;
mod check;
mod colour_lines;
mod cost;
mod dummy;
mod dummy_sheet;
mod guide;
mod line_up;
mod matching;
mod measured;
mod mix;
mod new;
mod open;
mod output;
mod pack;
mod plates;
mod press;
mod proof;
mod run;
mod separate;
mod shelf;
mod spread;
mod study;
mod ticket;
mod values;
mod wedge;
mod wrap;

use std::any::TypeId;
use std::ffi::OsString;
use std::io::{self, BufRead};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::error::ErrorKind;
use clap::{Arg, Command, CommandFactory as _, FromArgMatches as _, Parser, Subcommand};

pub use output::Output;

/// Plan small zines for a shared stencil duplicator: one ink a layer, loose registration, folded sheets.
#[derive(Debug, Parser)]
#[command(name = "slipsheet", version, args_conflicts_with_subcommands = true)]
struct Arguments {
    /// Project to open in the window
    #[arg(value_name = "PROJECT")]
    project: Option<PathBuf>,
    #[command(subcommand)]
    job: Option<Job>,
}

/// What stands under the list of commands.
fn after_help() -> String {
    format!(
        "Without a command the window opens.\n\n\
        Exit codes: 0 fine, 1 something should be looked at, 2 it was not done.\n\n\
        Log: {}\n\n\
        Example: slipsheet new --sheet letter --fold slit8 -o walk.slipsheet sea.png weed.png ink.png",
        crate::window::home().log_file().display()
    )
}

#[derive(Debug, Subcommand)]
enum Job {
    Mix(mix::MixArgs),
    Match(matching::MatchArgs),
    Separate(separate::SeparateArgs),
    Proof(proof::ProofArgs),
    Check(check::CheckArgs),
    Accept(accept::AcceptArgs),
    Dummy(dummy::DummyArgs),
    DummySheet(dummy_sheet::DummySheetArgs),
    Guide(guide::GuideArgs),
    LineUp(line_up::LineUpArgs),
    Measured(Box<measured::MeasuredArgs>),
    Plates(plates::PlatesArgs),
    Press(press::PressArgs),
    Ticket(ticket::TicketArgs),
    Pack(pack::PackArgs),
    Cost(cost::CostArgs),
    New(Box<new::NewArgs>),
    Study(study::StudyArgs),
    Answers(Box<answers::AnswersArgs>),
    Run(run::RunArgs),
    Spread(spread::SpreadArgs),
    Wedge(Box<wedge::WedgeArgs>),
    Wrap(Box<wrap::WrapArgs>),
}

/// How a job ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// All is well.
    Fine,
    /// It is done, but something should be looked at.
    Warnings,
    /// It was not done.
    Failed,
}

impl From<Ending> for ExitCode {
    fn from(ending: Ending) -> Self {
        Self::from(match ending {
            Ending::Fine => 0_u8,
            Ending::Warnings => 1,
            Ending::Failed => 2,
        })
    }
}

/// What the arguments came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// A job was done, or could not be.
    Done(Ending),
    /// The window is to open.
    Window {
        /// With this project, if one was named.
        project: Option<PathBuf>,
    },
}

/// Does what the arguments (the first is the program's name) ask for, with the program's own input and output.
pub fn parse_and_run(args: impl IntoIterator<Item = OsString>) -> Outcome {
    let (mut out, mut err) = (io::BufWriter::new(io::stdout().lock()), io::stderr().lock());
    run_with(args, &mut io::stdin().lock(), &mut Output::new(&mut out, &mut err))
}

/// As [`parse_and_run`], for a program that has no window to open.
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitCode {
    slipsheet_files::log_to(crate::window::home().log_file());
    match parse_and_run(args) {
        Outcome::Done(ending) => ending.into(),
        Outcome::Window { project } => {
            let opened = match project {
                Some(path) if !path.exists() && is_path(&path) => Err(anyhow::anyhow!(
                    "the project is not there; it was moved or its name is misspelt: {}",
                    path.display()
                )),
                Some(path) if !path.exists() => Err(anyhow::anyhow!(
                    "there is no project and no command called “{}”; see slipsheet --help",
                    path.display()
                )),
                project => crate::window::open(project),
            };
            let Err(e) = opened else { return Ending::Fine.into() };
            let (mut out, mut err) = (io::sink(), io::stderr().lock());
            Output::new(&mut out, &mut err).problem(e.to_string());
            Ending::Failed.into()
        }
    }
}

/// Whether someone who wrote this meant a file and no command.
fn is_path(path: &Path) -> bool {
    path.extension().is_some() || path.components().count() > 1
}

/// Does what the arguments ask for, with this input and output.
pub fn run_with(
    args: impl IntoIterator<Item = OsString>,
    input: &mut dyn BufRead,
    output: &mut Output<'_>,
) -> Outcome {
    let command = takes_any_number(Arguments::command().after_help(after_help()));
    let parsed =
        command.try_get_matches_from(args).and_then(|mut found| Arguments::from_arg_matches_mut(&mut found));
    let arguments = match parsed {
        Ok(arguments) => arguments,
        Err(e) if matches!(e.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) => {
            return Outcome::Done(
                output.finish(|o| Ok(o.text(&e.render().to_string()).map(|()| Ending::Fine)?)),
            );
        }
        Err(e) => {
            output.problem(one_sentence(&e.render().to_string()));
            return Outcome::Done(Ending::Failed);
        }
    };
    let Some(job) = arguments.job else { return Outcome::Window { project: arguments.project } };
    Outcome::Done(output.finish(|output| match &job {
        Job::Mix(args) => mix::run(args, input, output),
        Job::Match(args) => matching::run(args, input, output),
        Job::Separate(args) => separate::run(args, output),
        Job::Proof(args) => proof::run(args, output),
        Job::Check(args) => check::run(args, output),
        Job::Accept(args) => accept::run(args, output),
        Job::Dummy(args) => dummy::run(args, output),
        Job::DummySheet(args) => dummy_sheet::run(args, output),
        Job::Guide(args) => guide::run(args, output),
        Job::LineUp(args) => line_up::run(args, output),
        Job::Measured(args) => measured::run(args, output),
        Job::Plates(args) => plates::run(args, output),
        Job::Press(args) => press::run(args, output),
        Job::Ticket(args) => ticket::run(args, output),
        Job::Pack(args) => pack::run(args, output),
        Job::Cost(args) => cost::run(args, output),
        Job::New(args) => new::run(args, output),
        Job::Study(args) => study::run(args, output),
        Job::Answers(args) => answers::run(args, output),
        Job::Run(args) => run::run(args, output),
        Job::Spread(args) => spread::run(args, output),
        Job::Wedge(args) => wedge::run(args, output),
        Job::Wrap(args) => wrap::run(args, output),
    }))
}

/// Lets every option whose value is no free text take one that begins with a minus, so that the option's own
/// sentence comes of a number below its range, and no word about options that are not there.
fn takes_any_number(command: Command) -> Command {
    let free = |arg: &Arg| {
        let kind = arg.get_value_parser().type_id();
        kind == TypeId::of::<String>() || kind == TypeId::of::<PathBuf>()
    };
    command
        .mut_args(|arg| {
            let number = arg.get_action().takes_values() && !arg.is_positional() && !free(&arg);
            if number { arg.allow_hyphen_values(true) } else { arg }
        })
        .mut_subcommands(takes_any_number)
}

/// What the parser says over several paragraphs, on one line: what is wrong, and the tip if there is one.
fn one_sentence(message: &str) -> String {
    let mut paragraphs = message
        .trim_start_matches("error: ")
        .split("\n\n")
        .map(|p| p.lines().map(str::trim).filter(|l| !l.is_empty()).collect::<Vec<_>>().join(" "));
    let wrong = paragraphs.next().unwrap_or_default();
    // Nobody who misspelt an option meant it as a file's name.
    let helps = |tip: &&str| !tip.starts_with("to pass ");
    let tip = paragraphs.find_map(|p| p.strip_prefix("tip: ").filter(helps).map(|tip| format!(" ({tip})")));
    format!("{wrong}{}; see --help", tip.unwrap_or_default())
}
