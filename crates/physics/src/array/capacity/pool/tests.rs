use super::*;
use crate::array::capacity::{FileSystem, Terms, space};

const TEBIBYTE: f64 = (1_u64 << 40) as f64;

#[test]
fn validate_record_sectors() {
    // vdev_raidz_asize by hand for 4 KiB sectors, widths 3 to 12
    let table: [(u32, usize, [u64; 10]); 6] = [
        (128, 1, [48, 44, 40, 40, 38, 38, 36, 36, 36, 36]),
        (128, 2, [96, 66, 54, 48, 48, 45, 42, 42, 42, 42]),
        (128, 3, [0, 128, 80, 68, 56, 56, 52, 48, 44, 44]),
        (1024, 1, [384, 342, 320, 308, 300, 294, 288, 286, 282, 280]),
        (1024, 2, [768, 513, 429, 384, 360, 342, 330, 321, 315, 309]),
        (1024, 3, [0, 1024, 640, 516, 448, 412, 388, 368, 352, 344]),
    ];
    for (kibibytes, parity, row) in table {
        for (width, sectors) in (3..=12).zip(row) {
            let found = record_sectors(Bytes::kibibytes(kibibytes), DEFAULT_SECTOR, width, parity);
            assert_eq!(
                found, sectors,
                "{kibibytes} KiB, {width} drives, parity {parity}"
            );
        }
    }
    // small blocks on six drives with two parities: 12, 24, 24 and 48 KiB
    for (kibibytes, taken) in [(4, 12), (8, 24), (16, 24), (32, 48)] {
        let sectors = record_sectors(Bytes::kibibytes(kibibytes), DEFAULT_SECTOR, 6, 2);
        assert_eq!(sectors * 4, taken);
    }
}

#[test]
fn validate_record_efficiency() {
    // own sectors over sectors taken, two parities, widths 3 to 12
    const PRINTED: f64 = 5e-7;
    for (kibibytes, own, row) in [
        (
            128,
            32.0,
            [
                0.333333, 0.484848, 0.592593, 0.666667, 0.666667, 0.711111, 0.761905, 0.761905,
                0.761905, 0.761905,
            ],
        ),
        (
            1024,
            256.0,
            [
                0.333333, 0.499025, 0.596737, 0.666667, 0.711111, 0.748538, 0.775758, 0.797508,
                0.812698, 0.828479,
            ],
        ),
    ] {
        for (width, expected) in (3..=12).zip(row) {
            let taken = record_sectors(Bytes::kibibytes(kibibytes), DEFAULT_SECTOR, width, 2);
            let found = own / taken as f64;
            assert!(
                (found - expected).abs() < PRINTED,
                "{kibibytes} {width}: {found}"
            );
        }
    }
}

fn pooled(text: &str, kibibytes: u32) -> Space {
    let layout = Layout::parse(text).unwrap();
    let terms = Terms::usual(&layout).with(FileSystem::Pool {
        record: Bytes::kibibytes(kibibytes),
        sector: DEFAULT_SECTOR,
    });
    space(&layout, &terms).unwrap()
}

#[test]
fn validate_pool_space() {
    // listed bytes by the steps of OpenZFS; TiB as listed and for records of 1 MiB
    for (text, listed, tebibytes, real) in [
        ("raidz1 4 x 4 TB", 11483534589952, 10.4442, 10.7601),
        ("raidz2 6 x 12 TB", 47804797943808, 43.4782, 43.5207),
        ("raidz2 8 x 12 TB", 68101135663104, 61.9376, 65.2134),
        ("raidz2 8 x 20 TB", 113609803825152, 103.328, 108.792),
        ("raidz3 8 x 20 TB", 91110349209600, 82.8644, 90.2813),
        ("raidz3 12 x 24 TB", 209102496071680, 190.178, 194.791),
        ("2 x raidz1 5 x 8 TB", 63760400121856, 57.9897, 58.0748),
        ("4 x mirror 2 x 12 TB", 47828755808256, 43.5000, 43.5000),
    ] {
        let made = pooled(text, 128);
        assert_eq!(made.listed.unwrap().get(), listed, "{text}");
        assert_eq!(made.usable.get(), listed, "{text}");
        // half a unit of the sixth digit
        let printed = if tebibytes < 100.0 { 5e-5 } else { 5e-4 };
        assert!(
            (listed as f64 / TEBIBYTE - tebibytes).abs() < printed,
            "{text}"
        );
        let made = pooled(text, 1024);
        assert_eq!(made.listed.unwrap().get(), listed, "{text}");
        let found = made.usable.get() as f64 / TEBIBYTE;
        assert!((found - real).abs() < printed, "{text}: {found} not {real}");
    }
}

#[test]
fn validate_pool_against_a_public_report() {
    // a byte-exact public report: 1396 slabs of 16 GiB at 341/512, 128 GiB kept back
    let slabs = 1396 * 16 * GIBIBYTE;
    let counted = slabs / SECTOR * 341;
    assert_eq!(counted, 15973117591552);
    assert_eq!(counted - (counted / 32).min(128 * GIBIBYTE), 15835678638080);
    // 341 is what six drives with two parities (or three with one) give
    let taken = record_sectors(DEFAULT_RECORD, DEFAULT_SECTOR, 6, 2) * 8;
    assert_eq!(DEFAULT_RECORD.get() / taken, 341);
    assert_eq!(slab_shift(slabs), 34);
}

#[test]
fn validate_old_pools_of_3_tb_drives() {
    // public listings of 6, 10 and 12 drives of 3 TB with two parities: 16.2, 27.2, 32.5 TiB raw
    // and 10.7, 20.4, 24.4 TiB available; those releases had about 200 slabs of any size and kept
    // back one part in 64
    const PRINTED: f64 = 0.05 + 1e-9;
    let drive = Layout::parse("single 3 TB").unwrap().groups()[0].drives()[0];
    for (width, raw, available) in [(6, 16.2, 10.7), (10, 27.2, 20.4), (12, 32.5, 24.4)] {
        let size = leaf(drive.sectors()).unwrap() * width as u64;
        let shift = u64::BITS - (size / 200).leading_zeros();
        let slabs = size >> shift << shift;
        let taken = record_sectors(DEFAULT_RECORD, DEFAULT_SECTOR, width, 2) * 8;
        let counted = slabs / SECTOR * (DEFAULT_RECORD.get() / taken);
        let found = slabs as f64 / TEBIBYTE;
        assert!((found - raw).abs() <= PRINTED, "{width}: {found} raw");
        let found = (counted - counted / 64) as f64 / TEBIBYTE;
        assert!(
            (found - available).abs() <= PRINTED,
            "{width}: {found} available"
        );
    }
}

#[test]
fn more_drives_can_hold_less_only_where_padding_says_so() {
    // one parity, records of 128 KiB: 40 sectors on five drives as on six, so that the sixth adds
    // its own share and no more; the pool of nine takes 36 sectors as the pool of twelve
    for (width, next) in [(5, 6), (9, 10)] {
        let sectors = |w| record_sectors(DEFAULT_RECORD, DEFAULT_SECTOR, w, 1);
        assert_eq!(sectors(width), sectors(next));
    }
    // on three parities and blocks of 4 KiB every width takes four sectors: all drives but the
    // ideal share are padding and parity
    for width in 5..12 {
        assert_eq!(
            record_sectors(Bytes::kibibytes(4), DEFAULT_SECTOR, width, 3),
            4
        );
    }
}

#[test]
fn nonsense_and_small_drives_are_refused() {
    let layout = Layout::parse("raidz1 3 x 4 TB").unwrap();
    for (record, sector) in [
        (0, 4096),
        (5000, 4096),
        (131072, 0),
        (131072, 1 << 20),
        (1 << 25, 4096),
    ] {
        let terms = Terms::usual(&layout).with(FileSystem::Pool {
            record: Bytes::new(record),
            sector: Bytes::new(sector),
        });
        assert!(space(&layout, &terms).is_err(), "{record} {sector}");
    }
    let small = Layout::parse("mirror 2 x 8 GB").unwrap();
    assert!(space(&small, &Terms::usual(&small)).is_err());
    assert_eq!(record_sectors(DEFAULT_RECORD, DEFAULT_SECTOR, 2, 2), 0);
}
