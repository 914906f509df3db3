//! What goes out and what comes back: letters, disclosure, videos, questions, corrections, what is to be tested again.
use super::bench::Served;
use super::client::{Answer, get, hidden, multipart, post};
use trueplate_core::outgoing::{Reply, Wants};

/// Where an answer leads, without the word of what was kept.
fn led_to(a: &Answer) -> String {
    assert_eq!(a.status, 303, "{}", a.body);
    a.header("location").split(['?', '#']).next().unwrap_or_default().to_string()
}

/// A form of fields by name, with the stand of the page it was loaded from.
fn send(s: &Served, path: &str, fields: &[(&str, &str)]) -> Answer {
    let stand = hidden(&get(s.port, path).body, "stand");
    post(s.port, path, &[&[("stand", stand.as_str())], fields].concat())
}

/// The example gave 0.882 kWh, 0.9 Wh more with the meter's own draw: 883 Wh, against a claim of 850 Wh.
#[test]
fn a_letter_follows_the_facts_until_it_is_sent_and_then_stays() {
    let s = Served::example();
    let draft = get(s.port, "/model/m1/letter/new").body;
    for fact in ["stated 850 Wh", "measured 883 ± ", "; met", "Please answer by", "One sample was tested"] {
        assert!(draft.contains(fact), "{fact}: {draft}");
    }
    for word in ["disappoint", "excellent", "unfortunately", "great", "poor", "false", "mislead"] {
        assert!(!draft.to_lowercase().contains(word), "a letter holds facts only, not `{word}`");
    }
    let kept = send(&s, "/model/m1/letter/new", &[("to", "the press office"), ("answer_by", "2026-05-26")]);
    let letter = led_to(&kept);
    assert_eq!(s.notebook().letters[0].text, "", "a draft nobody changed is not frozen");
    let late = send(
        &s,
        &letter,
        &[("to", "x"), ("sent", "2026-05-12"), ("answered", "2026-05-01"), ("answer", "No.")],
    );
    assert_eq!(late.status, 422);
    assert!(late.body.contains("before the letter was sent") && late.body.contains("No."), "{}", late.body);
    let sent = [("to", "the press office"), ("answer_by", "2026-05-26"), ("sent", "2026-05-12")];
    led_to(&send(&s, &letter, &sent));
    let as_sent = s.notebook().letters[0].clone();
    assert!(
        as_sent.text.contains("measured 883 ± ") && as_sent.text.contains("26 May 2026"),
        "{}",
        as_sent.text
    );
    assert!(as_sent.facts.iter().any(|f| f.fact == "m1/usable-energy/load-50" && f.version.len() == 16));
    let model = get(s.port, "/model/m1").body;
    assert!(model.contains("Asked on 12 May 2026, answer by 26 May 2026; no answer."), "{model}");
    let answered = [
        ("answered", "2026-05-20"),
        ("answer", "We object: 900 Wh."),
        ("reply", "disputed"),
        ("text", "changed"),
    ];
    led_to(&send(&s, &letter, &[&sent[..], &answered].concat()));
    let now = s.notebook().letters[0].clone();
    assert_eq!((now.text, now.reply), (as_sent.text, Reply::Disputed), "what was sent stays as it was");
    assert!(get(s.port, "/retests").body.contains("the maker objected on 20 May 2026"));
    let refused = send(&s, &letter, &[("delete", "1")]);
    assert_ne!(refused.status, 303);
    assert_eq!(s.notebook().letters.len(), 1, "a sent letter stays");
    let folder = s.folder.path().join("site");
    assert_eq!(post(s.port, "/publish", &[("folder", &folder.display().to_string())]).status, 200);
    let page = std::fs::read_to_string(folder.join("m/example-1000.html")).expect("the page");
    for part in
        ["answered 20 May 2026", "We object: 900 Wh.", "The letter as it was sent", "the press office"]
    {
        assert!(page.contains(part), "{part}");
    }
}

#[test]
fn a_question_is_sorted_from_its_words_and_answers_itself() {
    let s = Served::example();
    assert!(get(s.port, "/questions").body.contains("None is written down yet"));
    let empty = post(s.port, "/questions", &[("text", ""), ("place", "under the video"), ("on", "soon")]);
    assert_eq!(empty.status, 422);
    assert!(
        empty.body.contains("under the video") && empty.body.contains("`soon` is not a day"),
        "{}",
        empty.body
    );
    let ask = |text: &str| {
        led_to(&post(
            s.port,
            "/questions",
            &[("text", text), ("place", "under the video"), ("on", "2026-05-12")],
        ))
    };
    let energy = ask("How much usable energy does the Example 1000 give?");
    let page = get(s.port, &energy).body;
    assert!(page.contains("Sorted from its words") && page.contains("883 ± "), "{page}");
    led_to(&send(
        &s,
        &energy,
        &[("text", "How much does it give?"), ("model", "m1"), ("about", "usable-energy"), ("times", "3")],
    ));
    let noise = ask("Is it loud at night?");
    led_to(&send(&s, &noise, &[("text", "Is it loud at night?"), ("model", "m1"), ("about", "noise")]));
    let odd = ask("Does it come in red?");
    led_to(&send(&s, &odd, &[("text", "Does it come in red?"), ("about", "nothing")]));
    let list = get(s.port, "/questions").body;
    assert!(list.contains("Missing: Noise") && list.contains("asked 3 times"), "{list}");
    let folder = s.folder.path().join("site");
    assert_eq!(post(s.port, "/publish", &[("folder", &folder.display().to_string())]).status, 200);
    let page = std::fs::read_to_string(folder.join("questions.html")).expect("the page");
    let open = page.find("Not tested yet").expect("the open ones");
    let answered = page.find(">Answered<").expect("the answered ones");
    let at = |text: &str| page.find(text).unwrap_or_else(|| panic!("{text} in {page}"));
    assert!(open < at("Is it loud at night?") && at("Does it come in red?") < answered);
    assert!(answered < at("How much does it give?") && page.contains("how.html#noise"));
    // A report of a reader asks for a test until it is settled.
    let report = ask("Mine gave only 700 Wh.");
    let fields = [
        ("text", "Mine gave only 700 Wh."),
        ("on", "2026-05-12"),
        ("model", "m1"),
        ("about", "usable-energy"),
        ("wants", "report"),
    ];
    led_to(&send(&s, &report, &fields));
    assert_eq!(s.notebook().questions[3].wants, Wants::Report);
    assert!(
        get(s.port, "/retests").body.contains("a reader reported on 12 May 2026: Mine gave only 700\u{a0}Wh")
    );
    led_to(&send(&s, &report, &[&fields[..], &[("settled", "1")]].concat()));
    assert!(!get(s.port, "/retests").body.contains("a reader reported"));
    led_to(&send(&s, &odd, &[("delete", "1")]));
    assert_eq!(s.notebook().questions.len(), 3);
}

const SUBTITLES: &[u8] =
    b"1\n00:01:02,000 --> 00:01:05,000\nThe Example 1000 delivered 883 watt-hours at half load.\n";

/// A video with the subtitles above, out since 2026-05-05.
fn video(s: &Served, chapters: &str) -> String {
    let stand = hidden(&get(s.port, "/model/m1/video/new").body, "stand");
    let fields = [
        ("stand", stand.as_str()),
        ("title", "Tested: Example 1000"),
        ("on", "2026-05-05"),
        ("chapters", chapters),
    ];
    let file = [("script", "example.srt", "text/plain", SUBTITLES)];
    led_to(&multipart(s.port, "/model/m1/video/new", &fields, &file, false))
}

#[test]
fn chapters_that_players_would_not_show_are_kept_and_told() {
    let s = Served::example();
    let address = video(&s, "0:05 The answer\n1:00 Half load");
    let page = get(s.port, &address).body;
    for part in
        ["not at 0:00", "2 of at least 3 chapters", "The chapters are left out", "as the record has it"]
    {
        assert!(page.contains(part), "{part}: {page}");
    }
    let stand = hidden(&page, "stand");
    let hash = hidden(&page, "kept_sha");
    let fields = [
        ("stand", stand.as_str()),
        ("title", "Tested: Example 1000"),
        ("on", "2026-05-05"),
        ("kept_sha", hash.as_str()),
        ("kept_name", "example.srt"),
        ("chapters", "0:00 The answer\r\n1:00 Half load\r\n4:12 Idle draw"),
    ];
    led_to(&multipart(s.port, &address, &fields, &[], false));
    let page = get(s.port, &address).body;
    assert!(
        page.contains("How I got it: Bought")
            && page.contains("4:12 Idle draw")
            && !page.contains("left out"),
        "{page}"
    );
    assert_eq!(
        s.notebook().videos[0].script.name,
        "example.srt",
        "the script is kept without being sent again"
    );
    assert_eq!(get(s.port, &format!("/file/{hash}")).body.as_bytes(), SUBTITLES);
    // A form without a title is not kept, and its file is not lost.
    let nameless = [("stand", stand.as_str()), ("title", ""), ("chapters", "0:00 A")];
    let refused = multipart(
        s.port,
        "/model/m1/video/new",
        &nameless,
        &[("script", "b.txt", "text/plain", b"two")],
        false,
    );
    assert_eq!(refused.status, 422);
    assert!(refused.body.contains("b.txt") && hidden(&refused.body, "kept_sha").len() == 64);
}

/// 0.922 kWh instead of 0.882: 923 Wh. The subtitle at 1:02 said 883.
#[test]
fn a_changed_reading_is_followed_to_the_page_the_feed_and_the_minute() {
    let s = Served::example();
    assert!(get(s.port, "/corrections").body.contains("Nothing was changed"));
    video(&s, "");
    let test = s.notebook().test("t1").expect("the test").clone();
    let mut fields = vec![("stand".to_string(), hidden(&get(s.port, "/test/t1/all").body, "stand"))];
    for (key, entry) in &test.entries {
        let text = if key == "counter_end" { "0.922 kWh" } else { &entry.text };
        fields.push((key.clone(), text.into()));
        fields.push((format!("{key}-instrument"), entry.instrument.clone()));
    }
    fields.extend([("day", test.day), ("why", "misread <2>".into())].map(|(k, v)| (k.into(), v)));
    let fields: Vec<_> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
    assert_eq!(post(s.port, "/test/t1/all", &fields).status, 303);
    let list = get(s.port, "/corrections").body;
    let address =
        list.split("href=\"/correction/").nth(1).and_then(|r| r.split('"').next()).expect("a correction");
    let page = get(s.port, &format!("/correction/{address}")).body;
    for part in [
        "0.882 kWh → 0.922 kWh",
        "883 ± ",
        "923 ± ",
        "m1/usable-energy/load-50 ",
        "Tested: Example 1000, 1:02: 883 watt-hours",
        "m/example-1000.html",
        "index.html",
        "At 1:02: “883 watt-hours”",
        "No verdict and no place changed.",
        "misread &#60;2&#62;",
    ] {
        assert!(page.contains(part), "{part}: {page}");
    }
    assert_eq!(get(s.port, "/correction/999999").status, 404);
    let folder = s.folder.path().join("site");
    assert_eq!(post(s.port, "/publish", &[("folder", &folder.display().to_string())]).status, 200);
    let read = |name: &str| std::fs::read_to_string(folder.join(name)).expect("the page");
    let (page, feed) = (read("corrections.html").replace('\u{a0}', " "), read("corrections.atom"));
    assert!(
        page.contains("at 1:02")
            && page.contains("923 ± ")
            && page.contains("No verdict and no place changed."),
        "{page}"
    );
    assert!(
        feed.contains("0.882 kWh → 0.922 kWh. Misread &lt;2&gt;. No verdict and no place changed."),
        "{feed}"
    );
    // The script of the video is marked where it was said.
    let video = get(s.port, &format!("/model/m1/video/{}", s.notebook().videos[0].id)).body;
    assert!(video.contains("<b>1:02</b>") && video.contains("883 watt-hours"), "{video}");
}

#[test]
fn a_changed_price_is_followed_too() {
    let s = Served::example();
    let form = [("amount", "599"), ("currency", "USD"), ("on", "2026-05-01"), ("kind", "list")];
    led_to(&send(&s, "/model/m1/price/new", &form));
    let form = [
        ("amount", "699"),
        ("currency", "USD"),
        ("on", "2026-05-01"),
        ("kind", "list"),
        ("why", "read the wrong line"),
    ];
    led_to(&send(&s, "/model/m1/price/0", &form));
    let list = get(s.port, "/corrections").body;
    assert!(
        list.contains("List price of 2026-05-01: 599 USD → 699 USD") && list.contains("read the wrong line"),
        "{list}"
    );
    let seq =
        list.split("href=\"/correction/").nth(1).and_then(|r| r.split('"').next()).expect("a correction");
    // 599 USD / 882.9 Wh = 0.678, 699 USD / 882.9 Wh = 0.792.
    let page = get(s.port, &format!("/correction/{seq}")).body;
    assert!(
        page.contains("0.67") && page.contains("0.79") && page.contains("No script of a video"),
        "{page}"
    );
}

#[test]
fn disclosure_says_what_is_written_down_and_publishing_waits_for_it() {
    let s = Served::example();
    let page = get(s.port, "/model/m1/disclosure").body;
    for part in [
        "I bought this one myself.",
        "Bought by the tester",
        "whether links bring money",
        "not legal advice",
        "16 CFR 255",
    ] {
        assert!(page.contains(part), "{part}: {page}");
    }
    let form = [
        ("model", "m1"),
        ("came", "paid"),
        ("provenance", "Paid by the dealer for the test, sample kept by the dealer."),
        ("by", "the dealer"),
        ("paid_links", "yes"),
        ("previewed", "no"),
    ];
    led_to(&send(&s, "/specimen/s1", &form));
    let page = get(s.port, "/model/m1/disclosure").body;
    for part in ["Ad: paid by the dealer", "This is an ad", "Links to shops bring the tester money."] {
        assert!(page.contains(part), "{part}: {page}");
    }
    assert!(!page.contains("Not written down"));
    let folder = s.folder.path().join("site");
    let publish = || post(s.port, "/publish", &[("folder", &folder.display().to_string())]);
    assert_eq!(publish().status, 200);
    let site = std::fs::read_to_string(folder.join("m/example-1000.html")).expect("the page");
    assert!(site.contains("Links to shops bring the tester money."));
    led_to(&send(&s, "/specimen/s1", &[("model", "m1"), ("came", "lent")]));
    let refused = publish();
    assert_eq!(refused.status, 422);
    assert!(
        refused.body.contains("Example 1000: how it came to the bench is not written down"),
        "{}",
        refused.body
    );
}

#[test]
fn an_empty_bench_says_what_will_stand_there() {
    let s = Served::empty();
    for (page, words) in [
        ("/questions", "None is written down yet."),
        ("/retests", "Nothing."),
        ("/corrections", "Nothing was changed after it was first written down."),
    ] {
        let a = get(s.port, page);
        assert!(a.status == 200 && a.body.contains(words), "{page}: {}", a.body);
    }
    for page in
        ["/model/x/letter/new", "/model/x/video/new", "/model/x/disclosure", "/question/x", "/correction/1"]
    {
        assert_eq!(get(s.port, page).status, 404, "{page}");
    }
}

/// What was taken out comes back by one press.
#[test]
fn a_question_taken_out_can_be_taken_back() {
    let s = Served::example();
    let question = led_to(&post(s.port, "/questions", &[("text", "How heavy is it?")]));
    let gone = send(&s, &question, &[("delete", "1")]);
    assert_eq!((led_to(&gone).as_str(), s.notebook().questions.len()), ("/questions", 0));
    let stroke = gone.header("location").split("kept=").nth(1).unwrap_or_default().to_string();
    assert_eq!(post(s.port, &format!("/undo/{stroke}"), &[]).status, 303);
    assert_eq!(s.notebook().questions[0].text, "How heavy is it?");
}
