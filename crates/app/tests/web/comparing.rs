//! The comparison: what its address asks, and what is said to questions that make no sense.
use super::bench::Served;
use super::client::{encoded, get};

fn page(s: &Served, pairs: &[(&str, &str)]) -> String {
    let pairs: Vec<String> = pairs.iter().map(|(n, v)| format!("{}={}", encoded(n), encoded(v))).collect();
    let a = get(s.port, &format!("/compare?{}", pairs.join("&")));
    assert_eq!(a.status, 200, "{}", a.body);
    a.body
}

/// The stations in the order of their rows.
fn rows(page: &str) -> Vec<String> {
    let after = page.split("<th scope=\"row\">").skip(1);
    after.filter_map(|r| Some(r.split("\">").nth(1)?.split('<').next()?.to_string())).collect()
}

#[test]
fn the_comparison_answers_what_its_address_asks() {
    let s = Served::demo();
    let usual = page(&s, &[]);
    assert_eq!(rows(&usual).len(), 14);
    assert!(usual.contains("Price per usable Wh") && usual.contains("days old"), "{usual}");
    let filtered = page(&s, &[("where", "idle draw < 12 W and switchover < 15 ms")]);
    assert!(rows(&filtered).contains(&"Tarnhobble Fell 1010".to_string()), "{:?}", rows(&filtered));
    assert!(filtered.contains("stations keep all of it") && filtered.contains("Left out"), "{filtered}");
    let sorted = page(&s, &[("sort", "idle-draw"), ("order", "worst"), ("c", "idle-draw")]);
    // Hidden: 37 W, the most of all.
    assert_eq!(rows(&sorted)[0], "Brundlewatt Colossus 3450");
    assert!(sorted.contains("aria-sort=\"descending\""), "{sorted}");
    let weighed =
        page(&s, &[("weight idle-draw", "1"), ("c", "idle-draw"), ("c", "usable-energy load=50 %")]);
    assert_eq!(rows(&weighed)[0], "Brundlewatt Pip 211");
    assert!(weighed.contains("by your weights") && weighed.contains("beaten by nobody"), "{weighed}");
    // The Larder 2610 is priced in EUR; nothing else is compared with it.
    assert_eq!(rows(&page(&s, &[("where", "price < 9000 EUR")])), ["Pelkwick Larder 2610 (230 V)"]);
    assert!(page(&s, &[("c", "sustained-output start=cold")]).contains("not held"));
    let together = [("property", "idle-draw"), ("side", "most"), ("limit", "6 W")];
    let built = page(&s, &together);
    assert!(built.contains("value=\"Idle draw, AC on &#60; 6 W\"") && rows(&built).len() < 14, "{built}");
}

#[test]
fn questions_that_make_no_sense_are_answered_in_words() {
    let s = Served::demo();
    for (pairs, said) in [
        (vec![("where", "idle draw < 12 Wh")], "here a power is asked"),
        (vec![("where", "idle draw < 12")], "has no unit"),
        (vec![("where", "usable energy > 800 Wh")], "may mean 4 things"),
        (vec![("where", "price < 700 GBP")], "currencies are never mixed"),
        (vec![("where", "idle draw < 5 W and idle draw > 30 W")], "no station keeps all of it"),
        (vec![("where", "idle draw < 1 W or mass < 9 kg")], "`or` is not known"),
        (vec![("where", "beauty > 5 W")], "no station has a value called `beauty`"),
        (vec![("c", "idle-draw"), ("weight idle-draw", "0")], "all weights are 0, so nothing counts"),
        (vec![("c", "idle-draw"), ("weight idle-draw", "-2")], "is no weight"),
        (vec![("c", "idle-draw"), ("weight idle-draw", "much")], "is no weight"),
        (vec![("property", "idle-draw"), ("limit", "")], "A condition without a limit"),
        (vec![("limit", "12 W")], "choose what the limit is for"),
        (vec![("c", "nothing-such"), ("sort", "nothing-such")], "A rank is a range"),
    ] {
        let body = page(&s, &pairs).replace("&#60;", "<").replace("&#62;", ">").replace("&#39;", "'");
        assert!(body.contains(said), "{pairs:?}: {said:?} is not in\n{body}");
    }
    assert!(page(&Served::empty(), &[]).contains("As soon as something is measured"));
}
