//! Measures the time from starting `trueplate serve` on the demo bench to the whole first page.
//! Run: `cargo build --release && cargo run --release -p trueplate --example cold_start`
use std::error::Error;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

fn once(program: &Path, bench: &Path) -> Result<Duration, Box<dyn Error>> {
    let began = Instant::now();
    let words = ["serve", "--no-open"];
    let mut served = Command::new(program).args(words).arg(bench).stderr(Stdio::piped()).spawn()?;
    let mut line = String::new();
    BufReader::new(served.stderr.take().ok_or("no standard error")?).read_line(&mut line)?;
    let host = line.trim().trim_start_matches("serving http://").trim_end_matches('/').to_string();
    let mut stream = TcpStream::connect(&host)?;
    write!(stream, "GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n")?;
    let mut page = String::new();
    stream.read_to_string(&mut page)?;
    let took = began.elapsed();
    served.kill()?;
    served.wait()?;
    if !page.starts_with("HTTP/1.1 200") {
        return Err(format!("no page: {}", page.lines().next().unwrap_or("")).into());
    }
    Ok(took)
}

fn main() -> Result<(), Box<dyn Error>> {
    let program = std::env::current_exe()?.with_file_name("../trueplate").canonicalize()?;
    let folder = std::env::temp_dir().join(format!("cold-start-{}", std::process::id()));
    std::fs::create_dir_all(&folder)?;
    let bench = folder.join("demo.trueplate");
    let made = Command::new(&program).args(["demo", "--no-serve", "--into"]).arg(&bench).status()?;
    if !made.success() {
        return Err("the demo bench was not written".into());
    }
    let mut all = (0..11).map(|_| once(&program, &bench)).collect::<Result<Vec<_>, _>>()?;
    all.sort();
    let ms = |i: usize| all[i].as_millis();
    println!("first page after {} ms (median of {}), {} to {} ms", ms(5), all.len(), ms(0), ms(10));
    std::fs::remove_dir_all(folder)?;
    Ok(())
}
