//! What is typed is understood, kept once, and changed only with a reason.
use super::bench::Served;
use super::client::{get, hidden, multipart, post};
use trueplate_core::notebook::Entry;

fn entry(s: &Served, field: &str) -> Entry {
    s.notebook().test("t1").expect("the test").entries.get(field).cloned().unwrap_or_default()
}

#[test]
fn a_watt_typed_for_a_watt_hour_is_refused_with_the_reason() {
    let s = Served::example();
    let a = get(s.port, "/test/t1/understand?field=counter_end&text=882%20W&unit=kWh&instrument=meter");
    assert!(a.body.contains("\"ok\":false") && a.body.contains("how fast"), "{}", a.body);
    let fields = [("field", "counter_end"), ("text", "882 W"), ("was", "0.882 kWh")];
    let a = multipart(s.port, "/test/t1/keep", &fields, &[], false);
    assert_eq!(a.status, 422);
    let field = "value=\"882 W\"";
    assert!(a.body.contains("how fast") && a.body.contains(field), "nothing typed is lost: {}", a.body);
    assert_eq!(entry(&s, "counter_end").text, "0.882 kWh");
}

#[test]
fn a_number_is_understood_in_the_unit_beside_it() {
    let s = Served::example();
    // 0.89 kWh is 890 Wh; of the rectangle ± 8.9 Wh (1 % of reading) 95 % lie within ± 8.455 Wh: shown as ± 8 Wh.
    let a = get(s.port, "/test/t1/understand?field=counter_end&text=0.89&unit=kWh&instrument=meter");
    assert!(a.body.contains("890 ± 8 Wh"), "{}", a.body);
    let a = get(s.port, "/test/t1/understand?field=counter_end&text=890&unit=Wh&instrument=meter");
    assert!(a.body.contains("890 ± 8 Wh"), "{}", a.body);
}

#[test]
fn an_answer_sent_twice_is_kept_once_with_its_own_time() {
    let s = Served::example();
    let strokes = || s.notebook().changes.last().map_or(0, |c| c.stroke);
    let fields = [
        ("field", "shown_at_end"),
        ("text", "2 %"),
        ("was", "1 %"),
        ("at", "2026-05-03T10:49:07Z"),
        ("once", "0123456789abcdef"),
        ("waited", "1"),
    ];
    let first = multipart(s.port, "/test/t1/keep", &fields, &[], true);
    assert_eq!(first.status, 200, "{}", first.body);
    let after = strokes();
    let second = multipart(s.port, "/test/t1/keep", &fields, &[], true);
    assert_eq!(second.status, 200, "{}", second.body);
    assert_eq!(strokes(), after);
    let kept = entry(&s, "shown_at_end");
    assert_eq!((kept.text.as_str(), kept.at.as_str()), ("2 %", "2026-05-03T10:49:07+00:00"));
}

#[test]
fn what_waited_on_the_phone_is_kept_even_when_it_cannot_be_read() {
    let s = Served::example();
    let fields = [("field", "power"), ("text", "500 Wh"), ("was", "500 W"), ("once", "k1"), ("waited", "1")];
    assert_eq!(multipart(s.port, "/test/t1/keep", &fields, &[], true).status, 200);
    assert_eq!(entry(&s, "power").text, "500 Wh");
    assert!(get(s.port, "/").body.contains("how much"), "the finding stands on the first page");
}

#[test]
fn another_screen_is_not_overwritten() {
    let s = Served::example();
    // The page was loaded while the counter was not answered yet; meanwhile it says 0.882 kWh.
    let fields = [("field", "counter_end"), ("text", "0.9 kWh"), ("was", "")];
    let a = multipart(s.port, "/test/t1/keep", &fields, &[], false);
    assert_eq!(a.status, 409);
    assert!(a.body.contains("0.882 kWh") && a.body.contains("0.9 kWh"), "{}", a.body);
    let old = hidden(&get(s.port, "/load/heater").body, "stand");
    let form = [("stand", old.as_str()), ("name", "heater one"), ("sort", "resistive")];
    assert_eq!(post(s.port, "/load/heater", &form).status, 303);
    assert_eq!(post(s.port, "/load/heater", &form).status, 409);
}

/// The sheet as a browser would send it, unchanged.
fn sheet(s: &Served) -> Vec<(String, String)> {
    let mut fields = vec![("stand".into(), hidden(&get(s.port, "/test/t1/all").body, "stand"))];
    let test = s.notebook().test("t1").expect("the test").clone();
    for (key, entry) in &test.entries {
        fields.push((key.clone(), entry.text.clone()));
        fields.push((format!("{key}-instrument"), entry.instrument.clone()));
    }
    fields.push(("day".into(), test.day));
    fields.push(("firmware".into(), test.firmware));
    fields
}

fn send_sheet(s: &Served, change: (&str, &str), why: &str) -> super::client::Answer {
    let mut fields = sheet(s);
    fields.push((change.0.into(), change.1.into()));
    fields.push(("why".into(), why.into()));
    let fields: Vec<_> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
    post(s.port, "/test/t1/all", &fields)
}

#[test]
fn an_answer_is_corrected_with_a_reason_and_the_old_one_stays() {
    let s = Served::example();
    let refused = send_sheet(&s, ("counter_end", "0.892 kWh"), "");
    assert_eq!(refused.status, 422);
    assert!(
        refused.body.contains("write why") && refused.body.contains("0.892 kWh"),
        "nothing typed is lost"
    );
    assert_eq!(entry(&s, "counter_end").text, "0.882 kWh");
    let kept = send_sheet(&s, ("counter_end", "0.892 kWh"), "misread the middle digit");
    assert_eq!(kept.status, 303, "{}", kept.body);
    let changes = s.notebook().changes;
    let last = changes.iter().rfind(|c| c.field == "/entries/counter_end/text").expect("the change");
    assert_eq!((last.old.as_str(), last.new.as_str()), ("\"0.882 kWh\"", "\"0.892 kWh\""));
    assert_eq!(last.why, "misread the middle digit");
    // Only what was changed is in the history.
    let touched: Vec<_> =
        changes.iter().filter(|c| c.stroke == last.stroke).map(|c| c.field.as_str()).collect();
    assert!(touched.iter().all(|f| f.starts_with("/entries/counter_end")), "{touched:?}");
    let trail = get(s.port, "/trail/m1/usable-energy").body;
    assert!(trail.contains("misread the middle digit") && trail.contains("0.882 kWh → 0.892 kWh"), "{trail}");
}

#[test]
fn a_stroke_can_be_taken_back() {
    let s = Served::example();
    let kept = send_sheet(&s, ("counter_end", "0.892 kWh"), "misread");
    let stroke = kept.header("location").split("kept=").nth(1).unwrap_or_default().to_string();
    let said = get(s.port, kept.header("location")).body;
    assert!(said.contains("Kept.") && said.contains(&format!("action=\"/undo/{stroke}\"")), "{said}");
    assert_eq!(post(s.port, &format!("/undo/{stroke}"), &[]).status, 303);
    assert_eq!(entry(&s, "counter_end").text, "0.882 kWh");
    assert_eq!(post(s.port, &format!("/undo/{stroke}"), &[]).status, 409, "a second time it says why not");
}

#[test]
fn cautions_are_ticked_before_the_start() {
    let s = Served::example();
    let form = [
        ("kind", "usable-energy"),
        ("specimen", "s1"),
        ("day", "2026-05-04"),
        ("caution-0", "1"),
        ("caution-2", "1"),
    ];
    let refused = post(s.port, "/test/new", &form);
    assert_eq!(refused.status, 422);
    assert!(refused.body.contains("Read each caution"), "{}", refused.body);
    let begun = post(s.port, "/test/new", &[&form[..], &[("caution-1", "1")]].concat());
    assert_eq!(begun.status, 303, "{}", begun.body);
    assert_eq!(s.notebook().tests.len(), 2);
}

#[test]
fn a_remark_has_its_moment() {
    let s = Served::example();
    let fields = [("text", "the fan came on"), ("at", "2026-05-03T09:40:00Z"), ("q", "wait"), ("once", "k2")];
    assert_eq!(post(s.port, "/test/t1/remark", &fields).status, 303);
    assert_eq!(s.notebook().test("t1").expect("the test").note, "2026-05-03 09:40:00 the fan came on");
}
