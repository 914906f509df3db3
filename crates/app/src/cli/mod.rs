//! The command line: one file per command, one exit code per sort of ending.
mod answer;
mod demo;
mod export;
pub mod figures;
mod file;
mod import;
mod import_capture;
mod law;
mod log;
mod plan;
pub mod publish;
mod report;
mod script;
mod serve;
mod wave;

use clap::{Parser, Subcommand};
use std::io::{self, ErrorKind};
use std::path::Path;
use std::process::ExitCode;

/// How a command that did not succeed ends. Each carries what, where and what to do.
#[derive(Debug, thiserror::Error)]
pub enum Stop {
    /// The answer is no: a check failed. Exit 1.
    #[error("{0}")]
    No(String),
    /// Wrong usage, not found, unreadable input. Exit 2.
    #[error("{0}")]
    Usage(String),
    /// The world failed: disk, network. Exit 3.
    #[error("{0}")]
    World(String),
    /// The bench file is damaged. Exit 4.
    #[error("{0}")]
    Damaged(String),
}

impl Stop {
    /// A file named on the command line that cannot be read.
    fn unread(file: &Path, e: &io::Error) -> Stop {
        let what = match e.kind() {
            ErrorKind::NotFound => "there is no such file; check the name".to_string(),
            ErrorKind::IsADirectory => "this is a folder; name one file".to_string(),
            ErrorKind::PermissionDenied => "you may not read it; check its permissions".to_string(),
            _ => format!("it cannot be read ({e})"),
        };
        Stop::Usage(format!("{}: {what}", file.display()))
    }
    fn code(&self) -> u8 {
        match self {
            Stop::No(_) => 1,
            Stop::Usage(_) => 2,
            Stop::World(_) => 3,
            Stop::Damaged(_) => 4,
        }
    }
}

/// What a command ends with.
pub type Ended = Result<(), Stop>;

#[derive(Parser)]
#[command(
    name = "trueplate",
    about = "The bench notebook of an independent tester of portable power stations"
)]
#[command(disable_version_flag = true, subcommand_required = false, arg_required_else_help = true)]
struct Arguments {
    /// Print the versions of program, bench file and bundled SQLite.
    #[arg(long)]
    version: bool,
    /// With --version: as one JSON document.
    #[arg(long, requires = "version")]
    json: bool,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Subcommand)]
enum Command {
    /// Write the made-up demo bench and serve it.
    Demo(demo::Arguments),
    /// Begin an empty bench.
    New(file::NewArguments),
    /// The local web app on a bench.
    Serve(serve::Arguments),
    /// Read everything in a bench and say what is not as it was saved.
    Verify(file::VerifyArguments),
    /// Write one consistent copy of a bench.
    Backup(file::BackupArguments),
    /// Put a copy back in place, under a new name.
    Restore(file::RestoreArguments),
    /// All results, verdicts and findings.
    Report(report::Arguments),
    /// Which stations run these devices, and how long.
    Answer(answer::Arguments),
    /// Check a draft script or subtitles against the record.
    Script(script::Arguments),
    /// One meter's log, no bench needed.
    Log(log::Arguments),
    /// Everything in a bench, in open formats.
    Export(export::Arguments),
    /// One oscilloscope's file, or several of the same thing; no bench needed.
    Wave(wave::Arguments),
    /// A meter's file, an oscilloscope's file, or a table of earlier results, into a bench.
    Import(import::Arguments),
    /// Write the static site into a folder.
    Publish(publish::Arguments),
    /// Draw the pictures for the video into a folder.
    Figures(figures::Arguments),
    /// What is missing for a model, and the bench days that bring it.
    Plan(plan::Arguments),
    /// Drain law from rows of full discharges: runtimes at the loads asked.
    Law(law::Arguments),
}

/// Runs the program.
pub fn main() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(a) => a,
        Err(e) => {
            let wrong = e.use_stderr();
            // A closed pipe is no reason to fail while printing help.
            let _closed_pipe = e.print();
            return ExitCode::from(if wrong { 2 } else { 0 });
        }
    };
    let ended = match arguments.command {
        Some(Command::Demo(a)) => demo::run(&a),
        Some(Command::Serve(a)) => serve::run(&a),
        Some(Command::Answer(a)) => answer::run(&a),
        Some(Command::Script(a)) => script::run(&a),
        Some(Command::Log(a)) => log::run(&a),
        Some(Command::Wave(a)) => wave::run(&a),
        Some(Command::Import(a)) => import::run(&a),
        Some(Command::Publish(a)) => publish::run(&a),
        Some(Command::Export(a)) => export::run(&a),
        Some(Command::Figures(a)) => figures::run(&a),
        Some(Command::New(a)) => file::new(&a),
        Some(Command::Verify(a)) => file::verify(&a),
        Some(Command::Backup(a)) => file::backup(&a),
        Some(Command::Restore(a)) => file::restore(&a),
        Some(Command::Report(a)) => report::run(&a),
        Some(Command::Plan(a)) => plan::run(&a),
        Some(Command::Law(a)) => law::run(&a),
        None if arguments.version => versions(arguments.json),
        None => Err(Stop::Usage("no command given; `trueplate --help` lists them".into())),
    };
    match ended {
        Ok(()) => ExitCode::SUCCESS,
        Err(stop) => {
            eprintln!("trueplate: {stop}");
            ExitCode::from(stop.code())
        }
    }
}

fn versions(as_json: bool) -> Ended {
    let (program, schema, sqlite) =
        (env!("CARGO_PKG_VERSION"), trueplate_store::SCHEMA, trueplate_store::sqlite_version());
    if as_json {
        return out_json(&serde_json::json!({"program": program, "schema": schema, "sqlite": sqlite}));
    }
    out(&format!("trueplate {program}, bench file schema {schema}, SQLite {sqlite}\n"))
}

/// Prints text on standard output. A reader that went away (`| head`) is no failure.
fn out(text: &str) -> Ended {
    use std::io::{ErrorKind, Write};
    match std::io::stdout().write_all(text.as_bytes()) {
        Err(e) if e.kind() != ErrorKind::BrokenPipe => {
            Err(Stop::World(format!("standard output cannot be written: {e}")))
        }
        _ => Ok(()),
    }
}

/// Prints one JSON document on standard output.
fn out_json(document: &serde_json::Value) -> Ended {
    out(&format!("{document:#}\n"))
}
