//! Explanations beside diagnoses that people reached in the field.
#![allow(clippy::unwrap_used)] // a test that unwraps says enough when it fails

use narrows_core::catalogue::Catalogue;
use narrows_core::explain::{Explanation, explain};
use narrows_tests::{root, told::told};
use serde_json::Value;

fn text<'a>(v: &'a Value, path: &str) -> &'a str {
    v.pointer(path).and_then(Value::as_str).unwrap_or("")
}

fn list(v: &Value, path: &str) -> Vec<String> {
    v.pointer(path)
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
        .filter_map(Value::as_str)
        .map(str::to_owned)
        .collect()
}

#[test]
fn field() {
    let catalogue = Catalogue::embedded().unwrap();
    let path = std::env::var_os("NARROWS_CASES").map_or_else(|| root().join("tests/field/told.json"), std::path::PathBuf::from);
    let cases: Vec<Value> = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let (mut n, mut top1, mut top3, mut vn, mut vok, mut viol, mut base, mut basefault) = (0, 0, 0, 0, 0, 0, 0, 0);
    for case in &cases {
        let found: Explanation = explain(&told(case, &catalogue), &catalogue).unwrap();
        let explain_use = list(case, "/use").iter().any(|u| u == "E");
        let family = text(case, "/truth/family");
        let mut right = list(case, "/truth/alt_families");
        right.push(family.to_owned());
        let ranked: Vec<&str> = found.families.iter().map(|f| f.family.as_str()).collect();
        let fits = |f: &str| right.iter().any(|r| r == f || (r == "normal" && matches!(f, "wire-limit" | "array-media")));
        let t1 = ranked.first().is_some_and(|f| fits(f));
        let t3 = ranked.iter().take(3).any(|f| fits(f));
        let ruled = list(case, "/truth/ruled_out");
        let violation = ranked.first().is_some_and(|f| ruled.iter().any(|r| r == f));
        let counts = matches!(text(case, "/truth/cause_visible"), "input" | "measured") && matches!(text(case, "/truth/status"), "confirmed" | "likely");
        if !explain_use {
            base += 1;
            let fault = found.causes.first().is_none_or(|c| !c.id.starts_with("limit-") || c.probability < found.none_of_these);
            if fault { basefault += 1; }
        } else {
            if counts { n += 1; top1 += usize::from(t1); top3 += usize::from(t3); }
            vn += 1;
            vok += usize::from(found.verdict.word() == text(case, "/truth/expected_verdict"));
            viol += usize::from(violation);
        }
        println!("{} {} {} {:8} want {:8} {:20}{:?} | {}", text(case, "/id"), if explain_use {if counts {"*"} else {" "}} else {"b"},
            if t1 {"1"} else if t3 {"3"} else {"-"}, found.verdict.word(), text(case, "/truth/expected_verdict"), family,
            list(case, "/truth/alt_families"),
            found.families.iter().take(4).map(|f| format!("{} {:.0}", f.family, f.probability*100.0)).collect::<Vec<_>>().join(", "));
        if std::env::var_os("NARROWS_MORE").is_some_and(|v| v == "all" || v.to_str() == Some(text(case, "/id"))) {
            for r in &found.readings { println!("      {:?} {:?}", r.text, r.expected.map(|e| e.map(|x| (narrows_core::quantity::in_megabytes_per_second(x)*10.0).round()/10.0))); }
            for r in &told(case, &catalogue).remarks { println!("      said {} ({})", r.id, r.text); }
            println!("   {}", found.in_words);
            for c in found.causes.iter().take(3) { println!("      {} {:.2} {} for {:?} against {:?} fixed {:?}", c.place, c.probability, c.words, c.speaks_for, c.speaks_against, c.once_fixed.map(|e| e.map(|x| narrows_core::quantity::in_megabytes_per_second(x).round()))); }
            for r in found.ruled_out.iter().take(6) { println!("      ruled out {} {}", r.id, r.why); }
            for t in &found.next_tests { println!("      next {} {:.3} {} {:?}", t.id, t.gain_bits, t.minutes, t.outcomes); }
            for c in found.causes.iter().take(8) { println!("      {:.3} {} {:?}", c.probability, c.id, c.together_with); }
        }
    }
    println!("counted {n} top1 {top1} top3 {top3}; verdict {vok}/{vn}; violations {viol}; baseline faults {basefault}/{base}");
}
