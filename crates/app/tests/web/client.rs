//! A small HTTP client that can also send what no browser would.
use std::io::{Read, Write};
use std::net::TcpStream;

/// An answer.
pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: String,
}

impl Answer {
    /// The value of a header; empty when it is not there.
    pub fn header(&self, name: &str) -> &str {
        let same = |line: &&str| line.split(':').next().is_some_and(|n| n.eq_ignore_ascii_case(name));
        self.head.lines().find(same).and_then(|l| l.split_once(':')).map_or("", |(_, v)| v.trim())
    }
}

/// Sends a request as written and reads to the end.
pub fn raw(port: u16, request: &[u8]) -> Answer {
    let mut line = TcpStream::connect(("127.0.0.1", port)).expect("the server");
    line.write_all(request).expect("sent");
    let mut bytes = Vec::new();
    line.read_to_end(&mut bytes).expect("an answer");
    let text = String::from_utf8_lossy(&bytes);
    let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
    let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).unwrap_or(0);
    Answer { status, head: head.into(), body: body.into() }
}

/// A page.
pub fn get(port: u16, path: &str) -> Answer {
    raw(
        port,
        format!("GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n\r\n").as_bytes(),
    )
}

/// A form sent from a page of the bench.
pub fn post(port: u16, path: &str, fields: &[(&str, &str)]) -> Answer {
    post_with(
        port,
        path,
        fields,
        &format!("Origin: http://127.0.0.1:{port}\r\nSec-Fetch-Site: same-origin\r\n"),
    )
}

/// A form with headers of one's own, each ended by CRLF.
pub fn post_with(port: u16, path: &str, fields: &[(&str, &str)], headers: &str) -> Answer {
    let body =
        fields.iter().map(|(n, v)| format!("{}={}", encoded(n), encoded(v))).collect::<Vec<_>>().join("&");
    let kind = "application/x-www-form-urlencoded";
    send(port, path, kind, headers, body.as_bytes())
}

/// A form with files: name, file name, media type, bytes.
pub fn multipart(
    port: u16,
    path: &str,
    fields: &[(&str, &str)],
    files: &[(&str, &str, &str, &[u8])],
    script: bool,
) -> Answer {
    let mut body = Vec::new();
    for (name, value) in fields {
        let part = format!("--edge\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n");
        body.extend(part.as_bytes());
    }
    for (name, file, media, bytes) in files {
        let head = format!(
            "--edge\r\nContent-Disposition: form-data; name=\"{name}\"; filename=\"{file}\"\r\nContent-Type: {media}\r\n\r\n"
        );
        body.extend(head.as_bytes());
        body.extend(*bytes);
        body.extend(b"\r\n");
    }
    body.extend(b"--edge--\r\n");
    let accept = if script { "Accept: application/json\r\n" } else { "" };
    let headers = format!("Origin: http://127.0.0.1:{port}\r\n{accept}");
    send(port, path, "multipart/form-data; boundary=edge", &headers, &body)
}

fn send(port: u16, path: &str, kind: &str, headers: &str, body: &[u8]) -> Answer {
    let mut request = format!(
        "POST {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\nContent-Type: {kind}\r\n{headers}Content-Length: {}\r\n\r\n",
        body.len()
    )
    .into_bytes();
    request.extend(body);
    raw(port, &request)
}

/// Percent-encoded, all but letters and digits.
pub fn encoded(text: &str) -> String {
    text.bytes()
        .map(|b| if b.is_ascii_alphanumeric() { char::from(b).to_string() } else { format!("%{b:02X}") })
        .collect()
}

/// The value of a hidden field on a page.
pub fn hidden(page: &str, name: &str) -> String {
    let from = page.split(&format!("name=\"{name}\" value=\"")).nth(1).expect("the hidden field");
    from.split('"').next().unwrap_or_default().to_string()
}
