//! Files on their way into the bench and out of it: what is too large, what broke off, what is damaged.
use super::bench::Served;
use super::client::{get, multipart, raw};
use std::fs;
use std::io::Read;
use std::sync::Arc;
use std::sync::mpsc::channel;
use std::time::Duration;
use trueplate::desk::Desk;

/// Files beside the bench that only arrive.
fn arriving(s: &Served) -> usize {
    let names = fs::read_dir(s.folder.path()).expect("the folder").flatten().map(|e| e.file_name());
    names.filter(|n| n.to_string_lossy().contains("arriving")).count()
}

#[test]
fn more_than_is_taken_at_once_is_refused_in_words_and_leaves_nothing() {
    let s = Served::example();
    // A table of stations may have 16 MiB: a byte more, in two files.
    let (half, more) = (vec![b'a'; 8 << 20], vec![b'b'; (8 << 20) + 1]);
    let files: [(&str, &str, &str, &[u8]); 2] =
        [("file", "first.csv", "text/csv", &half), ("file", "second.csv", "text/csv", &more)];
    let a = multipart(s.port, "/import", &[], &files, false);
    assert_eq!(a.status, 413, "{}", a.body);
    for words in ["With `second.csv` more than 16 MiB", "Nothing of it was kept", "fewer files at a time"] {
        assert!(a.body.contains(words), "{words} is not in {}", a.body);
    }
    assert_eq!(arriving(&s), 0);
    assert!(!get(s.port, "/log/new").body.contains("first.csv"), "nothing was kept");
    // To the byte it is taken.
    let files: [(&str, &str, &str, &[u8]); 2] = [files[0], ("file", "third.csv", "text/csv", &more[1..])];
    let a = multipart(s.port, "/import", &[], &files, false);
    assert_eq!(a.status, 303, "{}", a.body);
    // The page says the limit beforehand: 16 · 2^20.
    assert!(get(s.port, "/import").body.contains("data-most=\"16777216\""));
    // A text without an end is no way around.
    let long = "x".repeat((1 << 20) + 1);
    let a = multipart(s.port, "/log/new", &[("test", &long)], &[], false);
    assert!(a.status == 413 && a.body.contains("The text of `test` is longer than 1 MiB"), "{}", a.body);
}

#[test]
fn what_broke_off_is_told_and_leaves_nothing() {
    let s = Served::example();
    for to in ["/log/new", "/import", "/test/t1/keep"] {
        let body =
            "--edge\r\nContent-Disposition: form-data; name=\"file\"; filename=\"run.csv\"\r\n\r\ntime,W\n";
        let head = format!(
            "POST {to} HTTP/1.1\r\nHost: 127.0.0.1:{0}\r\nOrigin: http://127.0.0.1:{0}\r\nConnection: close\r\n\
             Content-Type: multipart/form-data; boundary=edge\r\nContent-Length: {1}\r\n\r\n{body}",
            s.port,
            body.len()
        );
        let a = raw(s.port, head.as_bytes());
        assert!(a.status == 422 && a.body.contains("broke off before its end"), "{to}: {}", a.body);
        assert!(a.body.contains("send it again"), "{to}: {}", a.body);
    }
    assert_eq!(arriving(&s), 0);
}

#[test]
fn a_kept_file_comes_back_byte_by_byte_with_its_length_and_a_damaged_one_does_not_pass_for_whole() {
    let s = Served::example();
    // Three pieces of at most 1 MiB: 150,000 lines of 16 bytes, and the last line by itself.
    let line = |n: usize| format!("{n:08},{:6}\n", n * 7 % 1_000_000);
    let text: String = (0..150_000).map(line).chain(["the last of all lines\n".into()]).collect();
    let files: [(&str, &str, &str, &[u8]); 1] = [("file", "run.csv", "text/csv", text.as_bytes())];
    let to = multipart(s.port, "/log/new", &[], &files, false).header("location").to_string();
    let sha = to.split(['/', '?']).nth(2).expect("the hash").to_string();
    let file = format!("/file/{sha}");
    let whole = get(s.port, &file);
    assert_eq!(whole.header("content-length"), "2400022");
    assert_eq!(whole.header("content-disposition"), "attachment; filename*=UTF-8''run.csv");
    assert!(whole.body == text, "byte by byte");
    // A browser that takes packed answers is given the file as it is.
    let asked = format!(
        "GET {file} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nAccept-Encoding: gzip\r\nConnection: close\r\n\r\n",
        s.port
    );
    assert!(raw(s.port, asked.as_bytes()).body == text, "not packed");
    // One letter of the last piece turns.
    let mut turned = 0;
    for entry in fs::read_dir(s.folder.path()).expect("the folder").flatten() {
        let mut bytes = fs::read(entry.path()).expect("its bytes");
        let found: Vec<usize> = places(&bytes, b"the last of all lines");
        found.iter().for_each(|at| bytes[*at] = b'T');
        turned += found.len();
        if !found.is_empty() {
            fs::write(entry.path(), bytes).expect("written back");
        }
    }
    assert!(turned > 0, "the line stands in the bench as it is");
    let hurt = get(s.port, &file);
    assert!(hurt.body.len() < text.len(), "{} bytes", hurt.body.len());
}

/// Where a word stands.
fn places(bytes: &[u8], word: &[u8]) -> Vec<usize> {
    bytes.windows(word.len()).enumerate().filter(|(_, w)| *w == word).map(|(at, _)| at).collect()
}

/// Two pieces of a file; between them somebody else opens a page.
struct MeanwhileRead {
    desk: Arc<Desk>,
    pieces: u32,
}

impl Read for MeanwhileRead {
    fn read(&mut self, to: &mut [u8]) -> std::io::Result<usize> {
        let Some(left) = self.pieces.checked_sub(1) else { return Ok(0) };
        self.pieces = left;
        let (desk, (send, answered)) = (self.desk.clone(), channel());
        std::thread::spawn(move || {
            let stations = desk.report().map(|r| r.models.len()).map_err(|e| e.to_string());
            let _nobody_waits = send.send(stations);
        });
        assert_eq!(answered.recv_timeout(Duration::from_secs(20)), Ok(Ok(1)), "a page waits for the file");
        to[0] = b'a';
        Ok(1)
    }
}

#[test]
fn pages_are_read_while_a_large_file_goes_into_the_bench() {
    let s = Served::example();
    let desk = Arc::new(Desk::open(&s.file).expect("the bench opens"));
    let two = MeanwhileRead { desk: desk.clone(), pieces: 2 };
    let file = desk.put_file("two.csv", "text/csv", two).expect("kept");
    assert_eq!(desk.file(&file.sha256).expect("its bytes"), b"aa");
}
