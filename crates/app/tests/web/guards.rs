//! What must not get in: foreign host names, foreign pages, hostile texts.
use super::bench::Served;
use super::client::{get, hidden, multipart, post, post_with, raw};

/// Every page that can be asked for on the example bench.
const PAGES: &[&str] = &[
    "/",
    "/models",
    "/model/new",
    "/model/m1",
    "/model/m1/edit",
    "/model/m1/claim/u",
    "/model/m1/claim/new",
    "/model/m1/price/new",
    "/claim/understand?key=mass&text=1",
    "/specimen/s1",
    "/specimen/new?model=m1",
    "/test/new",
    "/test/new?specimen=s1&kind=usable-energy",
    "/test/t1",
    "/test/t1?q=end",
    "/test/t1/all",
    "/test/t1/understand?field=end&text=1",
    "/trail/m1/usable-energy",
    "/instruments",
    "/instrument/meter",
    "/instrument/new",
    "/loads",
    "/load/heater",
    "/compare",
    "/model/m1/letter/new",
    "/model/m1/disclosure",
    "/model/m1/video/new",
    "/questions",
    "/corrections",
    "/retests",
    "/settings",
    "/phone",
    "/handbook",
    "/handbook/mass",
    "/history",
    "/publish",
    "/assets/app.css",
    "/assets/entry.js",
    "/assets/fonts.css",
    "/nowhere",
    "/file/abc",
];

#[test]
fn every_answer_carries_the_strict_headers() {
    let s = Served::example();
    for page in PAGES {
        let a = get(s.port, page);
        let missing = ["/nowhere", "/file/abc"].contains(page);
        assert_eq!(a.status, if missing { 404 } else { 200 }, "{page}: {}", a.body);
        let policy = a.header("content-security-policy");
        for part in [
            "default-src 'none'",
            "script-src 'self'",
            "object-src 'none'",
            "base-uri 'none'",
            "frame-ancestors 'none'",
        ] {
            assert!(policy.contains(part), "{page}: {policy}");
        }
        assert!(!policy.contains("unsafe"), "{page}: {policy}");
        assert_eq!(a.header("x-content-type-options"), "nosniff", "{page}");
        assert_eq!(a.header("referrer-policy"), "same-origin", "{page}");
        assert!(!a.header("cache-control").is_empty(), "{page}");
        assert!(a.header("access-control-allow-origin").is_empty(), "{page}");
        // Nothing inline, so that the policy above need not be loosened.
        let bare = a.body.to_lowercase();
        assert!(
            !bare.contains(" style=") && !bare.contains("<style") && !bare.contains("onclick="),
            "{page}"
        );
        assert!(!bare.contains("<script>"), "{page}");
    }
}

#[test]
fn only_its_own_names_are_answered() {
    let s = Served::example();
    let port = s.port;
    let ask = |host: &str| {
        raw(port, format!("GET / HTTP/1.1\r\n{host}Connection: close\r\n\r\n").as_bytes()).status
    };
    for own in ["127.0.0.1", "localhost", "LocalHost", "[::1]"] {
        assert_eq!(ask(&format!("Host: {own}:{port}\r\n")), 200, "{own}");
    }
    let foreign = [
        "Host: evil.example\r\n".to_string(),
        format!("Host: evil.example:{port}\r\n"),
        format!("Host: 127.0.0.1:{port}.evil.example\r\n"),
        format!("Host: localhost.:{port}\r\n"),
        format!("Host: 0.0.0.0:{port}\r\n"),
        format!("Host: user@127.0.0.1:{port}\r\n"),
        "Host: 127.0.0.1\r\n".to_string(),
        "Host:\r\n".to_string(),
        format!("Host: 127.0.0.1:{port}\r\nHost: evil.example\r\n"),
    ];
    for host in foreign {
        let status = ask(&host);
        assert!(status == 421 || status == 400, "{host:?} was answered with {status}");
    }
    let absolute =
        format!("GET http://evil.example/ HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n\r\n");
    assert_eq!(raw(port, absolute.as_bytes()).status, 421);
}

/// Addresses that change something.
const CHANGES: &[&str] = &[
    "/model/new",
    "/model/m1/edit",
    "/model/m1/claim/new",
    "/model/m1/price/new",
    "/specimen/new",
    "/test/new",
    "/test/t1/keep",
    "/test/t1/remark",
    "/test/t1/all",
    "/instrument/new",
    "/load/new",
    "/model/m1/letter/new",
    "/model/m1/video/new",
    "/questions",
    "/question/q",
    "/settings",
    "/undo/2",
    "/publish",
];

#[test]
fn nothing_is_changed_from_elsewhere() {
    let s = Served::example();
    let before = s.notebook();
    let foreign = [
        "Origin: http://evil.example\r\n",
        "Origin: null\r\n",
        "Origin: http://127.0.0.1:1\r\n",
        "Origin: https://evil.example\r\nSec-Fetch-Site: cross-site\r\n",
        "Sec-Fetch-Site: cross-site\r\n",
        "Sec-Fetch-Site: same-site\r\n",
    ];
    for path in CHANGES {
        for headers in foreign {
            let a = post_with(s.port, path, &[("name", "x"), ("text", "x"), ("field", "end")], headers);
            assert_eq!(a.status, 403, "{path} {headers}");
        }
        for method in ["PUT", "DELETE", "PATCH"] {
            let request = format!(
                "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nConnection: close\r\n\r\n",
                s.port
            );
            assert_eq!(raw(s.port, request.as_bytes()).status, 405, "{method} {path}");
        }
        get(s.port, path);
    }
    assert_eq!(s.notebook(), before);
}

/// Texts that would run as markup or script if a page did not make them safe.
const HOSTILE: &[&str] = &[
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "'\"></textarea></title><svg onload=alert(1)>",
    "javascript:alert(1)",
    "{{ 7*7 }} ${7*7} <%= 7 %>",
    "&lt;b&gt;&#60;script&#62;",
    "</script><iframe srcdoc=\"x\">",
];

#[test]
fn texts_stay_texts_on_every_page() {
    let s = Served::empty();
    for (n, text) in HOSTILE.iter().enumerate() {
        let name = format!("{text} {n}");
        let made = post(s.port, "/model/new", &[("name", &name), ("chemistry", text), ("note", text)]);
        assert_eq!(made.status, 303);
        let model = made.header("location").split('?').next().unwrap_or_default().to_string();
        let stand = hidden(&get(s.port, &format!("{model}/claim/new")).body, "stand");
        let claim = [
            ("stand", stand.as_str()),
            ("key", "mass"),
            ("text", "13 kg"),
            ("words", text),
            ("source", text),
        ];
        assert_eq!(post(s.port, &format!("{model}/claim/new"), &claim).status, 303);
        let id = model.rsplit('/').next().unwrap_or_default();
        let sample = [
            ("model", id),
            ("came", "lent"),
            ("label", text),
            ("provenance", text),
            ("serial", text),
            ("note", text),
        ];
        let firmware = [("firmware_version", *text), ("firmware_from", "")];
        assert_eq!(post(s.port, "/specimen/new", &[&sample[..], &firmware[..]].concat()).status, 303);
        assert_eq!(
            post(s.port, "/instrument/new", &[("name", text), ("about", text), ("note", text)]).status,
            303
        );
        assert_eq!(post(s.port, "/load/new", &[("name", text), ("note", text)]).status, 303);
        let gains = [("by", *text), ("received", *text)];
        let specimen = s.notebook().specimens.last().map(|x| x.id.clone()).unwrap_or_default();
        let stand = hidden(&get(s.port, &format!("/specimen/{specimen}")).body, "stand");
        let again = [&[("stand", stand.as_str())], &sample[..], &gains].concat();
        assert_eq!(post(s.port, &format!("/specimen/{specimen}"), &again).status, 303);
        assert_eq!(post(s.port, "/questions", &[("text", text), ("place", text)]).status, 303);
        let question = s.notebook().questions.last().map(|q| q.id.clone()).unwrap_or_default();
        let letter = [("stand", ""), ("to", text), ("note", text)];
        let stand = hidden(&get(s.port, &format!("{model}/letter/new")).body, "stand");
        let letter = [&[("stand", stand.as_str())], &letter[1..]].concat();
        assert_eq!(post(s.port, &format!("{model}/letter/new"), &letter).status, 303);
        let letter = s.notebook().letters.last().map(|l| l.id.clone()).unwrap_or_default();
        let video = [("title", *text), ("chapters", text), ("used", text), ("length", text)];
        let file = [("script", "s<b>.txt", "text/plain", text.as_bytes())];
        assert_eq!(multipart(s.port, &format!("{model}/video/new"), &video, &file, false).status, 303);
        let video = s.notebook().videos.last().map(|v| v.id.clone()).unwrap_or_default();
        let specimen = s.notebook().specimens.last().map(|x| x.id.clone()).unwrap_or_default();
        let begun =
            post(s.port, "/test/new", &[("kind", "mass"), ("specimen", &specimen), ("firmware", text)]);
        let test = begun.header("location").split('?').next().unwrap_or_default().to_string();
        if begun.status == 303 {
            post(s.port, &format!("{test}/remark"), &[("text", text)]);
            assert_calm(&s, &test, text);
            assert_calm(&s, &format!("{test}/all"), text);
        }
        for page in [
            "/",
            "/models",
            &model,
            &format!("{model}/claim/mass"),
            "/instruments",
            "/loads",
            "/history",
            "/compare",
            "/publish",
            "/questions",
            "/retests",
            "/corrections",
            &format!("/question/{question}"),
            &format!("{model}/letter/{letter}"),
            &format!("{model}/video/{video}"),
            &format!("{model}/disclosure"),
            &format!("/specimen/{specimen}"),
            "/test/new",
            "/nowhere/<script>alert(1)</script>",
        ] {
            assert_calm(&s, page, text);
        }
    }
}

fn assert_calm(s: &Served, page: &str, text: &str) {
    let a = get(s.port, &page.replace(['<', '>', '(', ')'], "."));
    let body = a.body.replace("<script type=\"module\" src=\"/assets/", "");
    // Not by leaving it out: the first pages show the name in full.
    if page == "/models" {
        assert!(body.contains("alert(1)") || !text.contains("alert"), "{page} does not show {text:?}");
    }
    for bad in ["<script", "<img", "<iframe", "<svg onload", "href=\"javascript", "</script><iframe"] {
        assert!(!body.contains(bad), "{page} lets {text:?} through as {bad:?}");
    }
}

#[test]
fn attached_files_are_handed_over_harmlessly() {
    let s = Served::example();
    let page = b"<script>alert(1)</script>";
    let fields =
        [("field", "counter_end"), ("text", "0.882 kWh"), ("instrument", "meter"), ("was", "0.882 kWh")];
    let kept = multipart(
        s.port,
        "/test/t1/keep",
        &fields,
        &[("photo", "\u{202e}../x\u{22}.html", "text/html", page)],
        false,
    );
    assert_eq!(kept.status, 303, "{}", kept.body);
    let file = s.notebook().test("t1").expect("the test").entries["counter_end"].files[0].sha256.clone();
    let a = get(s.port, &format!("/file/{file}"));
    assert_eq!((a.status, a.header("content-type")), (200, "application/octet-stream"));
    assert!(a.header("content-disposition").starts_with("attachment;"), "{}", a.head);
    assert!(a.header("content-security-policy").contains("sandbox"), "{}", a.head);
}

#[test]
fn faults_are_told_in_plain_words() {
    let s = Served::example();
    for page in [
        "/nowhere",
        "/model/no-such",
        "/test/no-such",
        "/trail/m1/no-such",
        "/specimen/x",
        "/load/x",
        "/model/m1/claim/x",
        "/assets/../Cargo.toml",
        "/assets/%2e%2e%2fCargo.toml",
    ] {
        let a = get(s.port, page);
        assert_eq!(a.status, 404, "{page}");
        assert!(a.body.contains("There is nothing here"), "{page}: {}", a.body);
        for word in ["panicked", "src/", "SELECT", "thread", ".rs", "/tmp"] {
            assert!(!a.body.contains(word), "{page} tells {word}");
        }
    }
    let big = "x".repeat(300 << 10);
    let refused = post(s.port, "/model/new", &[("name", &big)]);
    assert!(refused.status == 413 || refused.status == 422, "{}", refused.status);
    assert_eq!(get(s.port, "/").status, 200);
}
