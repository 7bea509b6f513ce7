use super::super::affected::of_offers;
use super::super::base::Base;
use super::super::combos::tests::offer;
use super::super::combos::{Combination, Mask, OfferSet};
use super::super::compose::Composer;
use super::super::memo::{Asking, Memo};
use super::super::relevance::relevant;
use super::super::search::{Mean, SEARCH_DRAWS, Seen, front};
use super::super::worth::{DeskWorth, Looking, Wants};
use super::super::{Answer, Help, Offer, Question, Why, purchases};
use crate::catalogue::Catalogue;
use crate::plan::Patience;
use crate::plan::ports::Load;
use crate::quantity::{Money, Time, megabytes, megabytes_per_second, ratio};
use crate::site::Site;
use crate::spread::Draws;
use crate::work::{Activity, Direction};
use proptest::prelude::*;

/// Two desks behind a switch; the cable of the first carries no more than 1 Gb/s.
const LITTLE: &str = r#"
[array.vault]
nas = "store"
layout = "raid5"
drives = "6 x 8 TB hdd-7200"
fill = "50 %"
[nas.store]
cpu = "large, 8 cores"
memory = "8 GB"
signed = "plain"
encrypted = "no"
port.a = { rate = "10 Gb/s" }
[switch.attic]
port.fast = { rate = "10 Gb/s", count = 2 }
port.slow = { rate = "1 Gb/s", count = 4 }
[desk.colour]
disk = "nvme-gen4"
port.a = { rate = "1 Gb/s" }
[desk.sound]
disk = "hdd-5400"
port.a = { rate = "1 Gb/s" }
[[run]]
from = "nas.store"
to = "switch.attic.fast"
cable = "cat6a"
length = "3 m"
[[run]]
from = "desk.colour"
to = "switch.attic.slow"
cable = "cat5"
length = "80 m"
bundle = "tight"
[[run]]
from = "desk.sound"
to = "switch.attic.slow"
cable = "cat6"
length = "20 m"
"#;

fn base() -> Base<'static> {
    Base {
        site: LITTLE.as_bytes(),
        tasks: None,
        edits: &[],
    }
}

fn question(offers: &[Offer], spend: Option<i64>, need: Option<f64>) -> Question<'_> {
    Question {
        base: base(),
        offers,
        spend: spend.map(|hundredths| Money {
            hundredths,
            currency: "EUR".to_owned(),
        }),
        need: need.map(megabytes_per_second),
        activity: Activity::Copy,
        draws: 256,
        workers: 1,
    }
}

fn ask(question: &Question<'_>) -> Answer {
    let catalogue = Catalogue::embedded().unwrap();
    purchases(question, &catalogue, &|_, _| true).unwrap()
}

/// Card, port and cable of colour, and a disk for sound.
fn offers_of_a_shop() -> Vec<Offer> {
    vec![
        offer(0, 9000, &[r#"desk.colour.port.a.rate="10 Gb/s""#]),
        offer(1, 11000, &[r#"run.2.to="switch.attic.fast""#]),
        offer(2, 14000, &[r#"run.2.cable="cat6a""#]),
        offer(3, 8000, &[r#"desk.sound.disk="nvme-gen3""#]),
    ]
}

#[test]
fn a_card_helps_only_with_the_port_and_the_cable() {
    let offers = offers_of_a_shop();
    let answer = ask(&question(&offers, None, None));
    assert_eq!(answer.helps[0], Help::With(vec![1, 2]));
    assert_eq!(answer.helps[1], Help::With(vec![0, 2]));
    assert_eq!(answer.helps[2], Help::With(vec![0, 1]));
    // none of its parts is ever bought without the others
    for purchase in &answer.purchases {
        let parts = purchase.offers.iter().filter(|o| **o < 3).count();
        assert!(parts == 0 || parts == 3, "{:?}", purchase.offers);
    }
    let best = &answer.purchases[answer.best.unwrap()];
    assert!(best.offers.starts_with(&[0, 1, 2]));
    assert!(best.price.hundredths >= 34_000);
    assert!(best.saves.mean > Time::default());
    // with too little money for all three, nothing of it is bought
    let poor = ask(&question(&offers, Some(30_000), None));
    assert!(
        poor.purchases
            .iter()
            .all(|p| p.offers.iter().all(|o| *o == 3))
    );
    assert!(matches!(poor.helps[0], Help::Nothing(_)));
}

#[test]
fn what_does_nothing_is_told_with_where_it_stops() {
    let offers = [
        offer(0, 100, &[r#"desk.colour.disk="nvme-gen3""#]),
        offer(1, 200, &[r#"switch.attic.port.spare={ rate = "10 Gb/s" }"#]),
        offer(2, 90_000, &[r#"run.2.cable="cat6a""#]),
    ];
    let answer = ask(&question(&offers, Some(1000), None));
    let Help::Nothing(Why::StopsAt {
        desk, hops, rate, ..
    }) = &answer.helps[0]
    else {
        panic!("{:?}", answer.helps);
    };
    assert_eq!(
        (desk.as_str(), &hops[..]),
        ("colour", &["run.2".to_owned()][..])
    );
    assert!(*rate < megabytes_per_second(125.0));
    assert_eq!(answer.helps[1], Help::Nothing(Why::NotOnAnyWay));
    assert_eq!(answer.helps[2], Help::TooDear);
    assert!(answer.purchases.is_empty() && answer.first.is_none() && answer.best.is_none());
}

#[test]
fn a_port_that_others_require_helps_with_them() {
    let mut offers = offers_of_a_shop();
    offers.push(offer(4, 5000, &["switch.attic.port.fast.count=3"]));
    offers.push(offer(
        5,
        1000,
        &[
            r#"run.3.to="switch.attic.fast""#,
            r#"desk.sound.port.a.rate="10 Gb/s""#,
        ],
    ));
    offers[5].requires = vec![4];
    let answer = ask(&question(&offers, None, None));
    // the desk's old disk is no faster than 1 Gb/s, so a fast port needs the new disk as well
    assert_eq!(answer.helps[4], Help::With(vec![3, 5]));
    assert_eq!(answer.helps[5], Help::With(vec![3]));
}

#[test]
fn needs_come_before_waiting() {
    let offers = offers_of_a_shop();
    let met = ask(&question(&offers, None, Some(200.0)));
    assert!(met.needs && !met.met(), "sound stays behind its card");
    let best = &met.purchases[met.best.unwrap()];
    assert_eq!((met.today.desks_met, best.desks_met), (0, 1));
    let easy = ask(&question(&offers, None, Some(20.0)));
    assert!(easy.met());
    assert_eq!(easy.today.desks_met, 2);
}

#[test]
fn verify_workers_do_not_change_what_is_bought() {
    let offers = offers_of_a_shop();
    let told = |workers: usize| {
        let question = Question {
            workers,
            ..question(&offers, None, Some(100.0))
        };
        format!("{:?}", ask(&question))
    };
    assert_eq!(told(1), told(3));
}

#[test]
fn before_and_after_share_their_luck() {
    // the same thing bought again changes nothing in any draw
    let offers = [
        offer(0, 100, &[r#"run.3.cable="cat6""#]),
        offer(1, 200, &[r#"desk.sound.disk="nvme-gen3""#]),
    ];
    let answer = ask(&question(&offers, None, None));
    assert!(answer.purchases.iter().all(|p| !p.offers.contains(&0)));
    for purchase in &answer.purchases {
        assert!(purchase.helps >= ratio(0.0) && purchase.helps <= ratio(1.0));
        assert!(purchase.saves.p05 <= purchase.saves.p50);
        assert!(purchase.saves.p50 <= purchase.saves.p95);
        assert!(purchase.waits.mean < answer.today.waits.mean);
    }
}

/// What may be offered: sets that matter to one desk, to both, to none, or only with others.
const POOL: [&[&str]; 11] = [
    &[r#"desk.colour.port.a.rate="10 Gb/s""#],
    &[r#"run.2.to="switch.attic.fast""#],
    &[r#"run.2.cable="cat6a""#],
    &[r#"desk.sound.disk="nvme-gen3""#],
    &[r#"desk.sound.port.a.rate="2.5 Gb/s""#],
    &[r#"switch.attic.port.slow.rate="2.5 Gb/s""#],
    &["switch.attic.port.fast.count=3"],
    &[r#"run.3.to="switch.attic.fast""#],
    &[r#"array.vault.drives="8 x 8 TB hdd-7200""#],
    &[r#"nas.store.memory="32 GB""#],
    &[r#"desk.colour.disk="hdd-5400""#],
];

fn loads() -> Vec<Load> {
    let load = |desk: &str, direction, size: f64| Load {
        desk: desk.to_owned(),
        what: "copy".to_owned(),
        array: None,
        direction,
        demand: None,
        per_day: Some(megabytes(size)),
    };
    vec![
        load("colour", Direction::Read, 3e5),
        load("sound", Direction::Write, 1e5),
        load("sound", Direction::Read, 5e4),
    ]
}

/// Every combination worked out by itself; nothing where it makes no site.
fn by_trying(
    offer_set: &OfferSet<'_>,
    combinations: &[Combination],
    wants: &Wants<'_>,
    catalogue: &Catalogue,
) -> Vec<Option<[DeskWorth; 2]>> {
    let mut looking = Looking::new(catalogue, Draws::new(SEARCH_DRAWS)).unwrap();
    let each = combinations.iter().map(|combination| {
        let site = base()
            .with(&offer_set.edits(combination.mask), catalogue)
            .ok()?;
        let mut worth = |desk| looking.worth(&site, desk, wants).unwrap();
        Some([worth("colour"), worth("sound")])
    });
    each.collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]
    #[test]
    fn property_no_combination_is_beaten_and_none_is_missing(
        picked in prop::sample::subsequence((0..POOL.len()).collect::<Vec<_>>(), 2..6),
        prices in prop::collection::vec(1..6_i64, 6),
        spend in prop::option::of(4..20_i64),
        need in prop::option::of(50.0..300.0_f64),
    ) {
        let catalogue = Catalogue::embedded().unwrap();
        let mut offers: Vec<Offer> = Vec::new();
        for (id, pick) in picked.iter().enumerate() {
            let mut made = offer(id, prices[id], POOL[*pick]);
            // a third run in the fast ports takes a third port
            if *pick == 7 && let Some(ports) = picked.iter().position(|p| *p == 6) {
                made.requires.push(ports);
            }
            offers.push(made);
        }
        let offer_set = OfferSet::new(&offers);
        let combinations = offer_set.combinations(spend);
        let loads = loads();
        let wants = Wants {
            loads: &loads,
            activity: Activity::Copy,
            need: need.map(megabytes_per_second),
        };
        let direct = by_trying(&offer_set, &combinations, &wants, &catalogue);
        let site = base().with(&[], &catalogue).unwrap();
        let affected = of_offers(&site, &offers);
        let relevant = relevant(&site, &affected);
        let composer = Composer::new(&site, &affected, (base(), &offer_set), &catalogue);
        // a site of parts is the site itself
        for combination in &combinations {
            let Ok(whole) = base().with(&offer_set.edits(combination.mask), &catalogue) else {
                continue;
            };
            let made = composer.site(combination.mask).unwrap();
            prop_assert_eq!(Site { assumptions: Vec::new(), ..whole }, made);
        }
        // what does not matter to a desk changes nothing for it, to the last bit
        for (desk, matters) in relevant.iter().enumerate() {
            for (a, one) in combinations.iter().zip(&direct) {
                for (b, other) in combinations.iter().zip(&direct) {
                    let same = a.mask & matters == b.mask & matters;
                    if let (true, Some(one), Some(other)) = (same, one, other) {
                        prop_assert_eq!(&one[desk].waits, &other[desk].waits);
                        prop_assert_eq!(&one[desk].rates, &other[desk].rates);
                    }
                }
            }
        }
        let few = || Draws::new(SEARCH_DRAWS);
        let asking = Asking {
            base: base(),
            offer_set: &offer_set,
            wants: &wants,
            catalogue: &catalogue,
            composer: Some(&composer),
            draws: &few,
            workers: 1,
        };
        let mut memo: Memo<Mean> = Memo::new(&site, &relevant);
        memo.fill(&combinations, &asking, &|worth| Mean::of(&worth), &Patience::of(&|_, _| true)).unwrap();
        let found = front(&mut memo, &combinations, &asking);
        let all: Vec<Seen> = combinations
            .iter()
            .zip(&direct)
            .filter_map(|(combination, worth)| {
                let means: Vec<Mean> = worth.as_ref()?.iter().map(Mean::of).collect();
                Some(Seen {
                    price: combination.price,
                    mask: combination.mask,
                    met: means.iter().filter(|m| m.met).count(),
                    waits: means.iter().map(|m| m.waits).sum(),
                })
            })
            .collect();
        let as_good = |a: &Seen, b: &Seen| {
            a.price <= b.price && a.met >= b.met && a.rank() >= b.rank()
        };
        let better = |a: &Seen, b: &Seen| {
            as_good(a, b) && (a.price, a.met, a.rank()) != (b.price, b.met, b.rank())
        };
        for one in &found {
            prop_assert!(all.contains(one), "{one:?} is no combination that makes a site");
            prop_assert!(!all.iter().any(|other| better(other, one)), "{one:?} is beaten");
        }
        for one in &all {
            prop_assert!(found.iter().any(|kept| as_good(kept, one)), "{one:?} is missing");
        }
        let masks: Vec<Mask> = found.iter().map(|seen| seen.mask).collect();
        prop_assert_eq!(masks[0], 0, "things as they are cost nothing");
    }
}

#[test]
fn a_search_that_is_stopped_compares_what_is_known() {
    let offers = offers_of_a_shop();
    let asked = question(&offers, None, None);
    let all = ask(&asked);
    assert_eq!(all.stopped, None);
    let catalogue = Catalogue::embedded().unwrap();
    let none = purchases(&asked, &catalogue, &|_, _| false).unwrap();
    // things as they are are always known
    assert_eq!(format!("{:?}", none.today), format!("{:?}", all.today));
    assert!(none.purchases.is_empty());
    assert!(none.helps.iter().all(|help| *help == Help::NotLookedAt));
    let stopped = none.stopped.unwrap();
    assert!(stopped.done >= 1 && stopped.done < stopped.all);
    let some = purchases(&asked, &catalogue, &|done, _| done < 6).unwrap();
    let stopped = some.stopped.unwrap();
    assert_eq!(some.looked_at, stopped.done);
    assert_eq!(all.looked_at, stopped.all);
    assert!(stopped.done < stopped.all);
}
