use super::*;
use crate::copper::{Bundle, margin_of};
use narrows_units::quantity::units;

fn percent(text: &str) -> f64 {
    text.trim_end_matches(" %").parse().unwrap()
}

#[test]
fn verify_working_leads_to_the_verdict() {
    let c = copper();
    let mut run = RunPhysics::new(Category::Cat5e, metres(45.0));
    run.rates = vec![rate(10_000)];
    let steps = c.working(&run, rate(10_000)).unwrap();
    let verdict = c.carries(&run).unwrap()[0].1;
    let last = steps.last().unwrap();
    let hold = verdict.p_hold.get::<units::ratio::percent>();
    // printed as a whole percentage
    assert!((percent(&last.result) - hold).abs() <= 0.5, "{last:?}");
    let of = |name: &str| {
        let step = steps.iter().find(|s| s.name.starts_with(name)).unwrap();
        let number: String = step.result.chars().take_while(|c| *c != ' ').collect();
        number.parse::<f64>().unwrap()
    };
    let margin = verdict.margin.unwrap();
    assert!((of("margin of a run at the limits") - margin.at_limits.0).abs() <= TENTH);
    assert!((of("signal to noise") - margin.signal_to_noise.0).abs() <= TENTH);
    // the printed parts make the printed margin, each rounded to a tenth
    let made = of("signal to noise") - of("ratio that the line") - of("loss of a real");
    assert!((made - margin.at_limits.0).abs() <= 4.0 * TENTH);
    // inputs stand before what is made of them, and every step is of use
    let mut used = vec![false; steps.len()];
    for (i, step) in steps.iter().enumerate() {
        for (_, input) in &step.inputs {
            assert!(*input < i);
            used[*input] = true;
        }
    }
    used.pop();
    assert!(used.iter().all(|u| *u));
    // variance is the sum of squares of the unknowns, but for those too small to print
    let parts: f64 = steps
        .iter()
        .filter(|s| s.name.starts_with("one sigma"))
        .map(|s| {
            let number: f64 = s.result.split(' ').next().unwrap().parse().unwrap();
            number * number
        })
        .sum();
    assert!((parts.sqrt() - of("scatter")).abs() < 0.15, "{parts}");
    run.length = metres(3.0);
    assert!(c.working(&run, rate(10_000)).unwrap().is_empty());
}

#[test]
fn verify_one_case_has_the_margin_of_the_verdict() {
    let c = copper();
    let run = RunPhysics {
        bundle: Bundle::Tight,
        rates: vec![rate(5000)],
        ..RunPhysics::new(Category::Cat6, metres(70.0))
    };
    let expected = c.carries(&run).unwrap()[0].1.margin.unwrap();
    let judged = c.judgement(&run, rate(5000)).unwrap();
    let (margin, ratio, _) = c.at_limits(&run, rate(5000)).unwrap();
    let found = margin_of(&[(1.0, judged)], (margin, ratio));
    assert_eq!(found, expected);
    // two equal halves are the whole; of two different ones the median lies between
    let halves = margin_of(&[(0.5, judged), (0.5, judged)], (margin, ratio));
    assert!((halves.likely.0 - expected.likely.0).abs() < 1e-9);
    let short = RunPhysics {
        length: metres(20.0),
        ..run.clone()
    };
    let better = c.judgement(&short, rate(5000)).unwrap();
    let alone = margin_of(&[(1.0, better)], (margin, ratio));
    let mixed = margin_of(&[(0.5, judged), (0.5, better)], (margin, ratio));
    assert!(expected.likely < mixed.likely && mixed.likely < alone.likely);
    assert!((mixed.low.0 - expected.low.0).abs() < (mixed.low.0 - alone.low.0).abs());
}

#[test]
fn verify_margin_over_length_passes_through_the_run() {
    let c = copper();
    let mut run = RunPhysics::new(Category::Cat6, metres(55.0));
    run.cords = Some(metres(20.0));
    let verdict = c.carries(&run).unwrap().pop().unwrap().1.margin.unwrap();
    let (low, likely, high) = c
        .margin_at(&run, rate(10_000), run.length)
        .unwrap()
        .unwrap();
    assert_eq!(
        (low, likely, high),
        (verdict.low, verdict.likely, verdict.high)
    );
    // parts that no longer fit become as long as the run
    assert!(
        c.margin_at(&run, rate(10_000), metres(10.0))
            .unwrap()
            .is_some()
    );
    assert_eq!(c.margin_at(&run, rate(10_000), metres(4.0)).unwrap(), None);
    assert_eq!(
        c.margin_at(&run, rate(10_000), metres(101.0)).unwrap(),
        None
    );
}
