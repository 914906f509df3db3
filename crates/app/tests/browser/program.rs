//! Child processes that say on a pipe where they listen; first of all the built `trueplate`, serving a bench.
use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::channel;
use std::time::{Duration, Instant};

/// Longer than the largest bench takes to open.
const PATIENCE: Duration = Duration::from_secs(30);

/// A running program; ended when dropped.
pub struct Program {
    child: Child,
    /// Where it listens, e.g. `http://127.0.0.1:40123/`.
    pub address: String,
}

impl Program {
    /// `trueplate serve FILE --port 0 --no-open`; other devices would come in on this computer only.
    pub fn serve(bench: &Path) -> Result<Program, String> {
        let mut command = Command::new(env!("CARGO_BIN_EXE_trueplate"));
        command.arg("serve").arg(bench).args(["--port", "0", "--no-open", "--lan-address", "127.0.0.1"]);
        Program::start(command)
    }

    /// Starts `command` and waits for its line `serving http://…` on standard error.
    pub fn start(mut command: Command) -> Result<Program, String> {
        command.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::piped());
        let mut child = command.spawn().map_err(|e| format!("{command:?}: {e}"))?;
        let said = child.stderr.take().expect("a piped standard error");
        // Owned before waiting, so that a program that never says where it listens is ended too.
        let mut program = Program { child, address: String::new() };
        program.address = announced(said, |line| {
            let address = line.strip_prefix("serving ")?.trim();
            address.starts_with("http://").then(|| address.to_string())
        })?;
        Ok(program)
    }
}

/// What `read` finds in the first line that has it, or, when the pipe closes or time is up, all that was said instead.
pub fn announced(
    pipe: impl Read + Send + 'static,
    read: fn(&str) -> Option<String>,
) -> Result<String, String> {
    let (send, receive) = channel();
    // Reads on after the announcement, so that the child never blocks on a full pipe.
    std::thread::spawn(move || {
        BufReader::new(pipe).lines().map_while(Result::ok).for_each(|line| drop(send.send(line)));
    });
    let (started, mut heard) = (Instant::now(), String::new());
    while let Ok(line) = receive.recv_timeout(PATIENCE.saturating_sub(started.elapsed())) {
        if let Some(found) = read(&line) {
            return Ok(found);
        }
        heard += &format!("{line}\n");
    }
    Err(format!("it did not say where it listens; after {:.1?} it had said:\n{heard}", started.elapsed()))
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
