//! One slow laptop takes everybody's air: two papers, reproduced from their own formulas.

use super::close;

/// M. Heusse et al., INFOCOM 2003, 836: what each host gets in Mb/s of payload, and the share of
/// the air that the slow one takes.
fn heusse(hosts: f64, slow: f64) -> (f64, f64) {
    const FAST: f64 = 11.0;
    let (frame, payload) = (8.0 * 1534.0, 8.0 * 1500.0);
    let overhead = |r: f64| {
        let preamble = if r <= 1.0 { 192.0 } else { 96.0 };
        50.0 + 2.0 * preamble + 10.0 + 112.0 / r
    };
    let collides = 1.0 - libm::pow(1.0 - 1.0 / 31.0, hosts - 1.0);
    let waits = 20.0 * (1.0 + collides) / (2.0 * hosts) * 31.0 / 2.0;
    let time = |r: f64| overhead(r) + frame / r + waits;
    let (tf, ts) = (time(FAST), time(slow));
    let jam = 2.0 / hosts * ts + (1.0 - 2.0 / hosts) * tf;
    let round = (hosts - 1.0) * tf + ts + collides * jam * hosts;
    (payload / round, ts / round)
}

/// The abstract: with one host at 1 Mb/s all fall below 1 Mb/s.
#[test]
fn validate_the_anomaly_of_2003() {
    for (slow, expected, air) in [
        (11.0, 3.98712, 0.484375),
        (5.5, 2.85162, 0.613961),
        (2.0, 1.42811, 0.776415),
        (1.0, 0.789547, 0.849289),
    ] {
        let (found, share) = heusse(2.0, slow);
        close(found, expected);
        close(share, air);
    }
    for (hosts, expected) in [(3.0, 0.686698), (4.0, 0.605797), (5.0, 0.540626)] {
        let (found, _) = heusse(hosts, 1.0);
        close(found, expected);
        assert!(found < 1.0);
    }
}

/// T. Hoiland-Jorgensen et al., USENIX ATC 2017: time of an aggregate, and what it carries alone.
fn aggregate(size: f64, r: f64) -> (f64, f64) {
    let frames = size / 1500.0;
    let padded = 1544.0;
    let data = 32.0 + 8.0 * frames * padded / r;
    let overhead = 34.0 + 16.0 + 68.0 + 20.0 + 464.0 / r;
    (data, 8.0 * size / (data + overhead))
}

/// Their table: three stations in turn, then with equal air.
#[test]
fn validate_the_anomaly_of_2017() {
    let stations = [(6892.0, 144.4), (7833.0, 144.4), (2914.0, 7.2)];
    let alone = stations.map(|(size, r)| aggregate(size, r));
    let sum: f64 = alone.iter().map(|(data, _)| data).sum();
    let printed = [
        (97.3718, 97.3, 0.0995739, 9.69570, 9.7),
        (101.087, 101.1, 0.112146, 11.3364, 11.4),
        (6.53510, 6.5, 0.788280, 5.15149, 5.1),
    ];
    for ((data, base), (expected, base_printed, share, gets, gets_printed)) in
        alone.into_iter().zip(printed)
    {
        close(base, expected);
        close(data / sum, share);
        close(base * data / sum, gets);
        assert!(
            (base - base_printed).abs() < 0.1 && (base * data / sum - gets_printed).abs() < 0.1
        );
    }
    for ((size, r), expected, printed) in [
        ((28434.0, 144.4), 126.746, 42.2),
        ((28557.0, 144.4), 126.798, 42.2),
        ((2914.0, 7.2), 6.53510, 2.2),
    ] {
        let (_, base) = aggregate(size, r);
        close(base, expected);
        assert!((base / 3.0 - printed).abs() < 0.1);
    }
}
