//! Pictures for the video, pixel by pixel: nothing outside title-safe, nothing behind clear ones, layers that sum to the
//! whole, the same text in every size, the fact and its version in name and file.
mod bench;

use std::collections::BTreeSet;
use trueplate_core::facts;
use trueplate_core::notebook::{Came, Claim, Firmware, Notebook, Specimen};
use trueplate_core::report::Report;
use trueplate_pages::figure::{Figure, Form, Frame, Look, Options, face, figures, keyword, letters, raster};

fn drawn(report: &Report) -> Vec<Figure> {
    figures(report, &Options::default(), None)
}

fn fell() -> (Report, Vec<Figure>) {
    let report = bench::computed(bench::notebook());
    let figures = figures(&report, &Options::default(), Some("u06"));
    (report, figures)
}

/// One of each sort.
fn sorts(all: &[Figure]) -> Vec<&Figure> {
    let mut seen = BTreeSet::new();
    all.iter().filter(|f| seen.insert(f.kind())).collect()
}

const WHOLE: [Form; 2] = [Form { look: Look::Clear, layer: None }, Form { look: Look::Plate, layer: None }];

/// Asserts where ink is: some, and none outside title-safe, worked out here from the pixels of the frame.
fn assert_within(figure: &Figure, frame: Frame, form: Form) {
    let ((wide, high), pixels) = (frame.pixels(), figure.pixels(frame, form).unwrap());
    let safe = |x: u32, y: u32| {
        // The inner 90 % of width and height: SMPTE ST 2046-1; EBU R 95 (5 % from each edge).
        let within = |at: u32, of: u32| at * 20 >= of && at * 20 < of * 19;
        within(x, wide) && within(y, high)
    };
    let alpha = |x: u32, y: u32| pixels[((y * wide + x) * 4 + 3) as usize];
    let mut inked = 0;
    for y in 0..high {
        for x in 0..wide {
            let a = alpha(x, y);
            inked += u32::from(a > 0);
            assert!(a == 0 || safe(x, y), "{} {}: ink at {x},{y}", figure.path(frame, form), figure.title);
        }
    }
    let share = f64::from(inked) / f64::from(wide * high);
    assert!(share > 0.001, "{}: empty", figure.title);
    if form.look == Look::Clear {
        assert!(share < 0.6, "{}: {share:.2} of a clear picture is covered", figure.title);
    }
}

#[test]
fn the_bench_gives_every_sort_of_picture() {
    let (_, all) = fell();
    let sorts: BTreeSet<&str> = all.iter().map(|f| f.kind()).collect();
    assert_eq!(sorts, BTreeSet::from(["strip", "claim", "bars", "runtime", "discharge", "disclosure"]));
    let mut paths = BTreeSet::new();
    for figure in &all {
        for frame in Frame::ALL {
            for form in figure.forms() {
                assert!(paths.insert(figure.path(frame, form)), "{}", figure.path(frame, form));
            }
        }
    }
}

#[test]
fn no_ink_leaves_title_safe() {
    let (_, all) = fell();
    for figure in sorts(&all) {
        for form in WHOLE {
            assert_within(figure, Frame::Hd, form);
            assert_within(figure, Frame::Tall, form);
        }
    }
    assert_within(sorts(&all)[0], Frame::Uhd, WHOLE[0]);
    // Upright there is least room: each of them.
    for figure in &all {
        assert_within(figure, Frame::Tall, WHOLE[0]);
    }
}

/// Straight alpha over straight alpha (Porter and Duff 1984), as shares; premultiplied comes back.
fn over(below: [f64; 4], above: &[u8]) -> [f64; 4] {
    let a = f64::from(above[3]) / 255.0;
    let mut out = [0.0; 4];
    for c in 0..3 {
        out[c] = f64::from(above[c]) / 255.0 * a + below[c] * (1.0 - a);
    }
    out[3] = a + below[3] * (1.0 - a);
    out
}

#[test]
fn layers_laid_over_one_another_give_the_whole() {
    let (_, all) = fell();
    for figure in sorts(&all) {
        for look in [Look::Clear, Look::Plate] {
            let whole = figure.pixels(Frame::Hd, Form { look, layer: None }).unwrap();
            let parts = figure.forms().into_iter().filter(|f| f.look == look && f.layer.is_some());
            let layers: Vec<Vec<u8>> = parts.map(|f| figure.pixels(Frame::Hd, f).unwrap()).collect();
            assert!(layers.len() >= 2, "{}", figure.kind());
            for (i, seen) in whole.chunks_exact(4).enumerate() {
                let at = i * 4..i * 4 + 4;
                if layers.iter().all(|l| l[at.start + 3] == 0) {
                    assert_eq!(seen[3], 0, "{}: pixel {i}", figure.title);
                    continue;
                }
                let sum = layers.iter().fold([0.0; 4], |below, l| over(below, &l[at.clone()]));
                let alone = over([0.0; 4], seen);
                // Each layer was rounded to 8 bits twice: three steps of 1/255 at most.
                let off = (0..4).map(|c| (sum[c] - alone[c]).abs()).fold(0.0, f64::max);
                assert!(off <= 3.01 / 255.0, "{} {look:?}: pixel {i} is off by {off:.4}", figure.title);
            }
        }
    }
}

#[test]
fn every_size_says_the_same() {
    let words = |f: &Figure, frame| {
        let mut words: Vec<String> =
            f.said(frame).iter().flat_map(|l| l.split_whitespace()).map(String::from).collect();
        words.sort();
        words
    };
    for figure in drawn(&bench::computed(bench::notebook())) {
        // Numbers along an axis may be fewer where it is short; all else is the same, word for word.
        if matches!(figure.kind(), "runtime" | "discharge") {
            let (wide, tall) = (words(&figure, Frame::Hd), words(&figure, Frame::Tall));
            let known: BTreeSet<&String> = wide.iter().collect();
            assert!(tall.iter().all(|w| known.contains(w)), "{tall:?} is not in {wide:?}");
        } else {
            assert_eq!(words(&figure, Frame::Hd), words(&figure, Frame::Tall), "{}", figure.title);
        }
        assert_eq!(figure.said(Frame::Hd), figure.said(Frame::Uhd));
    }
}

#[test]
fn twice_the_pixels_show_the_same_picture() {
    let (_, all) = fell();
    let figure = all.iter().find(|f| f.kind() == "strip").unwrap();
    let (small, large) =
        (figure.pixels(Frame::Hd, WHOLE[0]).unwrap(), figure.pixels(Frame::Uhd, WHOLE[0]).unwrap());
    let (mut off, mut inked) = (0.0, 0);
    for y in 0..1080 {
        for x in 0..1920 {
            let of = |i: usize| f64::from(large[i * 4 + 3]);
            let at = |dx: usize, dy: usize| of((y * 2 + dy) * 3840 + x * 2 + dx);
            let mean = (at(0, 0) + at(1, 0) + at(0, 1) + at(1, 1)) / 4.0;
            let alpha = f64::from(small[(y * 1920 + x) * 4 + 3]);
            inked += i32::from(alpha > 0.0 || mean > 0.0);
            off += (mean - alpha).abs();
        }
    }
    // Edges are sampled differently; a text moved by one pixel would be off by more than ten on the mean.
    assert!(off / f64::from(inked) < 4.0, "{}", off / f64::from(inked));
}

#[test]
fn type_is_never_too_small_for_a_phone() {
    // Capitals of 1/30 of the shorter side: 1080 / 30 = 36 = 0.698 · 51.6.
    let (_, all) = fell();
    for figure in &all {
        for frame in [Frame::Hd, Frame::Tall] {
            let svg = figure.svg(frame, WHOLE[0]);
            let sizes =
                svg.split("font-size=\"").skip(1).filter_map(|s| s.split('"').next()?.parse::<f64>().ok());
            for size in sizes {
                assert!(size * face::CAP >= 36.0, "{}: type of {size}", figure.title);
            }
        }
    }
}

#[test]
fn name_and_file_carry_fact_and_version() {
    let (report, all) = fell();
    let known: BTreeSet<String> = facts::facts(&report).into_iter().map(|f| f.id).collect();
    for figure in sorts(&all) {
        let png = figure.png(Frame::Hd, WHOLE[0]).unwrap();
        let texts = raster::texts(&png);
        let of = |key: &str| texts.iter().find(|(k, _)| k == key).map(|(_, t)| t.as_str()).unwrap_or("");
        assert_eq!(
            (of(keyword::FACT), of(keyword::VERSION)),
            (figure.fact.as_str(), figure.version.as_str())
        );
        assert_eq!((of(keyword::SIZE), of(keyword::FORM)), ("1080", "clear"));
        assert!(of("Description").contains(&figure.said(Frame::Hd)[0]));
        let path = figure.path(Frame::Hd, WHOLE[0]);
        assert!(
            path.contains(&figure.fact.replace('/', ".")) && path.contains(&figure.version[..8]),
            "{path}"
        );
        // Pictures of more than one number are named after what they show; the others after their fact.
        let own = matches!(figure.kind(), "runtime" | "disclosure");
        assert!(own || known.contains(&figure.fact), "{}", figure.fact);
        let mut reader = png::Decoder::new(std::io::Cursor::new(&png)).read_info().unwrap();
        let mut buffer = vec![0; reader.output_buffer_size().unwrap()];
        let info = reader.next_frame(&mut buffer).unwrap();
        assert_eq!((info.width, info.height, info.color_type), (1920, 1080, png::ColorType::Rgba));
        assert_eq!(buffer, figure.pixels(Frame::Hd, WHOLE[0]).unwrap());
    }
}

#[test]
fn strips_show_the_number_of_the_fact_sheet() {
    let (report, all) = fell();
    let sheet = facts::facts(&report);
    let strips: Vec<&Figure> = all.iter().filter(|f| f.kind() == "strip").collect();
    assert!(strips.len() > 5);
    for strip in strips {
        let fact = sheet.iter().find(|f| f.id == strip.fact).unwrap();
        let written = face::writable(&fact.rounded);
        assert!(strip.said(Frame::Hd).contains(&written), "{:?} lacks {written}", strip.said(Frame::Hd));
    }
}

/// A name in letters that the typeface lacks is told, with where it was written; other names are not.
#[test]
fn letters_that_pictures_lack_are_told() {
    assert!(letters::undrawn(&bench::computed(bench::notebook()), None).is_empty());
    let mut notebook = bench::notebook();
    notebook.models.iter_mut().find(|m| m.id == "u06").unwrap().name = "東京 1010 \u{202e}東".into();
    notebook.settings.tester = "שלום".into();
    let of_u06 = notebook.specimens.iter_mut().find(|s| s.model == "u06").unwrap();
    of_u06.provenance = "bought from شمس, paid in full".into();
    let report = bench::computed(notebook);
    let told = letters::undrawn(&report, None);
    let codes: BTreeSet<(&str, &str)> = told.iter().map(|f| (f.code.as_str(), f.place.as_str())).collect();
    assert!(
        codes.contains(&(letters::NAME, "u06")) && codes.contains(&(letters::SETTING, "tester")),
        "{codes:?}"
    );
    assert!(codes.iter().any(|(code, _)| *code == letters::SAMPLE) && codes.len() == 3, "{codes:?}");
    let name = told.iter().find(|f| f.code == letters::NAME).unwrap();
    assert!(name.text.contains("no letter for 東 京 U+202E in the station"), "{}", name.text);
    assert!(name.hint.contains("in Latin letters"), "{}", name.hint);
    // No picture shows a replacement sign of which nothing is told.
    let all = drawn(&report);
    let lacking: Vec<&Figure> =
        all.iter().filter(|f| f.said(Frame::Hd).concat().contains(face::replacement())).collect();
    assert!(lacking.len() > 10);
    for figure in lacking {
        let told = letters::undrawn(&report, Some(&[figure]));
        assert!(
            !told.is_empty() && told.iter().all(|f| f.code != letters::PICTURE),
            "{}: {told:?}",
            figure.title
        );
    }
    // The tester's name stands on the disclosure only.
    let strip = sorts(&all).into_iter().find(|f| f.kind() == "strip").unwrap();
    assert!(letters::undrawn(&report, Some(&[strip])).iter().all(|f| f.place != "tester"));
}

#[test]
fn the_version_follows_what_is_said_and_nothing_else() {
    let versions = |notebook: Notebook| {
        let all = drawn(&bench::computed(notebook));
        all.into_iter()
            .map(|f| ((f.fact.clone(), f.kind()), f.version))
            .collect::<std::collections::BTreeMap<_, _>>()
    };
    let before = versions(bench::notebook());
    assert_eq!(before, versions(bench::notebook()));
    let mut corrected = bench::notebook();
    let test = corrected.tests.iter_mut().find(|t| t.id == "t02").unwrap();
    test.entries.get_mut("counter_end").unwrap().text = "925 Wh".into();
    let after = versions(corrected);
    let changed = |fact: &str, kind| before[&(fact.to_string(), kind)] != after[&(fact.to_string(), kind)];
    assert!(
        changed("u06/usable-energy/load-50", "strip") && changed("u06/rank/usable-energy/load-50", "bars")
    );
    assert!(changed("u06/runtime-curve", "runtime"));
    assert!(!changed("u06/disclosure", "disclosure") && !changed("u06/claim/mass", "claim"));
}

#[test]
fn long_words_and_wide_numbers_fit_upright() {
    // A superseded claim has the longest verdict; a name of the widest letters stands in a comparison.
    let mut n = bench::notebook();
    n.models.iter_mut().for_each(|m| m.name = "MWMW ".repeat(12));
    let specimen: &mut Specimen = n.specimens.iter_mut().find(|s| s.id == "u06a").unwrap();
    let newer = Firmware { version: "3.0".into(), from: "2026-06-01".into() };
    specimen.firmware.push(newer);
    let report = bench::computed(n);
    let all = figures(&report, &Options::default(), Some("u06"));
    let superseded = |f: &&Figure| f.said(Frame::Tall).concat().contains("superseded");
    for figure in all.iter().filter(|f| f.kind() == "bars").chain(all.iter().find(superseded)) {
        assert_within(figure, Frame::Tall, WHOLE[0]);
    }
}

fn hostile() -> Notebook {
    let mut n = bench::notebook();
    let model = n.models.iter_mut().find(|m| m.id == "u06").unwrap();
    model.name =
        format!("<script>alert(1)</script>\u{202e}\u{2066} & \"x\" {} محطة", "Unbreakable".repeat(30));
    let specimen = n.specimens.iter_mut().find(|s| s.id == "u06a").unwrap();
    specimen.provenance = "=HYPERLINK(\"x\") ]]> ".repeat(60);
    n
}

#[test]
fn hostile_names_are_text_and_stay_inside() {
    let report = bench::computed(hostile());
    let all = figures(&report, &Options::default(), Some("u06"));
    for figure in sorts(&all) {
        for part in figure.path(Frame::Tall, WHOLE[0]).split('/') {
            assert!(part.len() <= 255 && !part.starts_with('.'), "{part}");
            assert!(part.chars().all(|c| c.is_alphanumeric() || "-_.".contains(c)), "{part}");
        }
        let said = figure.said(Frame::Hd).concat();
        assert!(!said.contains(['\u{202e}', '\u{2066}']), "{said}");
        for frame in [Frame::Hd, Frame::Tall] {
            assert_within(figure, frame, WHOLE[1]);
        }
    }
    let strip = all.iter().find(|f| f.kind() == "strip").unwrap();
    assert!(strip.said(Frame::Hd).concat().contains("<script>"), "a name is text, not markup");
    assert!(strip.svg(Frame::Hd, WHOLE[0]).contains("&lt;script&gt;"));
}

#[test]
fn ids_of_any_length_make_names_a_disk_can_hold() {
    let mut n = bench::notebook();
    let long = "a very long id ".repeat(40);
    n.models.iter_mut().find(|m| m.id == "u06").unwrap().id = long.clone();
    n.specimens.iter_mut().filter(|s| s.model == "u06").for_each(|s| s.model = long.clone());
    let all = figures(&bench::computed(n), &Options::default(), Some(&long));
    assert!(!all.is_empty());
    for figure in &all {
        let path = figure.path(Frame::Hd, Form { look: Look::Plate, layer: Some(3) });
        assert!(path.split('/').all(|part| part.len() <= 255), "{path}");
    }
}

#[test]
fn without_disclosure_or_results_there_is_no_picture() {
    assert!(drawn(&bench::computed(Notebook::default())).is_empty());
    let mut n = bench::notebook();
    let specimen: &mut Specimen = n.specimens.iter_mut().find(|s| s.id == "u06a").unwrap();
    specimen.came = Came::Unknown;
    assert!(figures(&bench::computed(n), &Options::default(), Some("u06")).is_empty());
    // Claims alone are no results.
    let mut n = bench::notebook();
    n.tests.clear();
    let stated = n.models.iter().flat_map(|m| &m.claims).collect::<Vec<&Claim>>().len();
    let left = drawn(&bench::computed(n));
    assert!(stated > 0 && left.iter().all(|f| matches!(f.kind(), "strip" | "disclosure")), "{}", left.len());
}

#[test]
fn a_file_that_is_no_picture_of_ours_has_no_texts() {
    assert!(raster::texts(b"").is_empty() && raster::texts(b"\x89PNG\r\n\x1a\n\xff\xff\xff\xff").is_empty());
    let cut = fell().1[0].png(Frame::Hd, WHOLE[0]).unwrap();
    for end in [8, 20, 40, 60] {
        let _no_panic = raster::texts(&cut[..end]);
    }
}

#[test]
fn a_card_for_each_page_is_drawn_once() {
    use std::collections::BTreeMap;
    use trueplate_pages::site::{SiteOptions, site};
    let report = bench::computed(hostile());
    let built = |cards| {
        let options = SiteOptions { base: "https://bench.example/".into(), cards, ..SiteOptions::default() };
        site(&report, &options).files
    };
    let cards = |files: &BTreeMap<String, Vec<u8>>| {
        let of = files.iter().filter(|(path, _)| path.starts_with("card/"));
        of.map(|(path, bytes)| (path.clone(), bytes.clone())).collect::<BTreeMap<_, _>>()
    };
    assert!(cards(&built(None)).is_empty());
    let first = built(Some(BTreeMap::new()));
    let drawn = cards(&first);
    assert_eq!(drawn.len(), first.keys().filter(|p| p.starts_with("m/")).count());
    for (path, bytes) in &drawn {
        let info = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap().info().clone();
        assert_eq!((info.width, info.height), (1200, 630));
        let named = format!("<meta property=\"og:image\" content=\"https://bench.example/{path}\">");
        let pages = first.iter().filter(|(p, _)| p.starts_with("m/"));
        let pages: Vec<_> = pages.filter(|(_, b)| String::from_utf8_lossy(b).contains(&named)).collect();
        assert_eq!(pages.len(), 1, "{path}");
    }
    // What is held already is taken as it is.
    let held: BTreeMap<_, _> = drawn.keys().map(|path| (path.clone(), b"held".to_vec())).collect();
    assert_eq!(cards(&built(Some(held.clone()))), held);
}
