//! Devices of the local network: nobody is let in unasked, and then only who brings the link.
use super::bench::Served;
use super::client::{Answer, get, hidden, post, post_with, raw};
use std::io::{Read, Write};
use std::net::TcpStream;

/// The link on the page, as port and key.
fn link(page: &str) -> (u16, String) {
    let from = page.split("id=\"pair-link\">http://127.0.0.1:").nth(1).expect("the link");
    let (port, rest) = from.split_once("/pair?k=").expect("a key");
    (port.parse().expect("a port"), rest.split('<').next().expect("its end").into())
}

fn with(port: u16, path: &str, headers: &str) -> Answer {
    let request =
        format!("GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n{headers}\r\n");
    raw(port, request.as_bytes())
}

/// Lets devices in; port, key, and the page with the link.
fn opened(s: &Served) -> (u16, String) {
    assert_eq!(post(s.port, "/phone", &[("door", "open")]).status, 303);
    link(&get(s.port, "/phone").body)
}

/// A device that brought the link: its header with the cookie.
fn paired(port: u16, key: &str) -> String {
    let let_in = get(port, &format!("/pair?k={key}"));
    assert_eq!(let_in.status, 200, "{}", let_in.body);
    let cookie = let_in.header("set-cookie");
    for part in ["HttpOnly", "SameSite=Strict", "Path=/", "Max-Age="] {
        assert!(cookie.contains(part), "{cookie}");
    }
    format!("Cookie: {}\r\n", cookie.split(';').next().expect("its value"))
}

#[test]
fn nobody_is_let_in_unasked() {
    let s = Served::example();
    let page = get(s.port, "/phone").body;
    assert!(page.contains("Only this computer reaches the bench") && !page.contains("pair?k="), "{page}");
    // The computer itself needs no link.
    assert_eq!(get(s.port, "/pair?k=").header("location"), "/phone");
    assert_eq!(post(s.port, "/phone", &[("door", "ajar")]).status, 422);
}

#[test]
fn only_who_brings_the_link_is_served() {
    let s = Served::example();
    let (port, key) = opened(&s);
    assert_ne!(port, s.port);
    assert_eq!(key.len(), 32);
    for path in [
        "/",
        "/model/m1",
        "/file/abc",
        "/phone",
        "/nowhere",
        "/pair",
        "/pair?k=",
        "/pair?k=00000000000000000000000000000000",
    ] {
        let a = get(port, path);
        assert_eq!(a.status, 401, "{path}: {}", a.body);
        assert!(
            a.body.contains("point this device's camera at the square")
                || a.body.contains("point this device&#39;s camera"),
            "{}",
            a.body
        );
        assert!(a.header("content-security-policy").contains("default-src 'none'"), "{path}");
        assert!(!a.body.contains(&key) && !a.body.contains("Example"), "{path}");
    }
    assert_eq!(get(port, "/assets/app.css").status, 200);
    let me = paired(port, &key);
    assert_eq!(with(port, "/model/m1", &me).status, 200);
    assert_eq!(with(port, "/model/m1", &format!("Cookie: other=1\r\n{me}")).status, 200);
    for wrong in [
        "Cookie: bench-device=\r\n",
        "Cookie: bench-device=00000000000000000000000000000000\r\n",
        &me[..me.len() - 3],
    ] {
        assert_eq!(with(port, "/model/m1", &format!("{}\r\n", wrong.trim_end())).status, 401, "{wrong}");
    }
    // A foreign name that was made to point here is no way in, cookie or not.
    let foreign = format!("GET / HTTP/1.1\r\nHost: bench.example:{port}\r\nConnection: close\r\n{me}\r\n");
    assert_eq!(raw(port, foreign.as_bytes()).status, 421);
    assert!(get(s.port, "/phone").body.contains("One device was let in"));
}

#[test]
fn a_device_takes_readings_but_does_not_rule_the_computer() {
    let s = Served::example();
    let (port, key) = opened(&s);
    let me = paired(port, &key);
    let own = format!("Origin: http://127.0.0.1:{port}\r\n{me}");
    let sheet = with(port, "/test/t1/all", &me).body;
    let was = hidden(&sheet, "stand");
    assert!(!was.is_empty());
    let remark = [("text", "the lamp flickered"), ("once", "k1"), ("at", "2026-05-03T10:00:00+02:00")];
    let kept = post_with(port, "/test/t1/remark", &remark, &own);
    assert!(kept.status == 303 || kept.status == 200, "{} {}", kept.status, kept.body);
    let notebook = s.notebook();
    assert!(format!("{notebook:?}").contains("the lamp flickered"));
    for (path, fields) in [("/publish", [("folder", "site")]), ("/phone", [("door", "close")])] {
        assert_eq!(post_with(port, path, &fields, &own).status, 403, "{path}");
    }
    let page = with(port, "/phone", &me).body;
    assert!(
        page.contains("This device is let in") && !page.contains(&key) && !page.contains("<svg"),
        "{page}"
    );
    // Without the cookie nothing is kept, and the browser is told so in a way that keeps the answer there.
    let remark = [("text", "from nowhere"), ("once", "k2")];
    assert_eq!(
        post_with(port, "/test/t1/remark", &remark, &format!("Origin: http://127.0.0.1:{port}\r\n")).status,
        401
    );
}

#[test]
fn who_was_let_in_can_be_put_out() {
    let s = Served::example();
    let (port, key) = opened(&s);
    let me = paired(port, &key);
    assert_eq!(post(s.port, "/phone", &[("door", "forget")]).status, 303);
    let (same, other) = link(&get(s.port, "/phone").body);
    assert_eq!(same, port);
    assert_ne!(other, key);
    assert_eq!(with(port, "/", &me).status, 401);
    assert_eq!(get(port, &format!("/pair?k={key}")).status, 401);
    let me = paired(port, &other);
    assert_eq!(with(port, "/", &me).status, 200);
    assert_eq!(post(s.port, "/phone", &[("door", "close")]).status, 303);
    assert!(get(s.port, "/phone").body.contains("Only this computer"));
    // The door is shut: nobody listens any more, or, on a port that is given out again at once, nobody who knows the device.
    let Ok(mut line) = TcpStream::connect(("127.0.0.1", port)) else { return };
    let request = format!("GET / HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n{me}\r\n");
    let mut answer = String::new();
    let read = line.write_all(request.as_bytes()).and_then(|()| line.read_to_string(&mut answer));
    assert!(read.is_err() || !answer.starts_with("HTTP/1.1 200"), "{answer}");
}
