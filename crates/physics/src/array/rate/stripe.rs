use super::outside;
use narrows_units::quantity::units::ratio::one;
use narrows_units::quantity::{DataRate, Information, Ratio, UnitFault, ratio, units};

/// Chunk operations on the drives to change `changed` of the data chunks of one stripe.
///
/// Read-modify-write reads and writes the changed chunks and all parity, `2 (k + p)`; reconstruction
/// reads the chunks that stay and writes the rest, `n`. The kernel's driver takes the smaller
/// (for two parities since version 4.1, before that always n). A pool never does this: it writes
/// whole records anew. None changed is none; more than a stripe holds is a full one.
///
/// Checked by `validate_partial_stripes`.
pub fn stripe_operations(drives: usize, parity: usize, changed: usize) -> usize {
    let data = drives.saturating_sub(parity);
    match changed.min(data) {
        0 => 0,
        k => (2 * (k + parity)).min(drives),
    }
}

/// Steps in which starts of a run are averaged.
const START: f64 = 65536.0;

/// Chunk operations of an unaligned run of writes over those of full stripes.
///
/// Mean over starts at every 64 KiB of a stripe; a chunk changed in part counts as changed. One
/// for endless runs. Valid for runs that reach the drives as they are: copies of large files
/// are gathered into full stripes by the driver's stripe cache. Checked by
/// `validate_write_amplification`.
///
/// # Errors
/// Where the run or the chunk is empty, or there is no data drive.
pub fn write_amplification(
    run: Information,
    chunk: Information,
    drives: usize,
    parity: usize,
) -> Result<Ratio, UnitFault> {
    let (run, chunk) = (
        run.get::<units::information::byte>(),
        chunk.get::<units::information::byte>(),
    );
    let data = drives.saturating_sub(parity);
    // more stripes than this are whole but for the ends
    let fits = run > 0.0 && chunk >= 4096.0 && run / chunk < 1e6 && data > 0;
    if !fits {
        return Err(outside(
            "a run, a chunk or data drives are missing".to_owned(),
            "write a run of at least a byte, a chunk from 4 KiB and a data drive",
        ));
    }
    let stripe = chunk * data as f64;
    let starts = libm::ceil(stripe / START).max(1.0) as usize;
    let mut operations = 0;
    for i in 0..starts {
        let start = i as f64 * stripe / starts as f64;
        let first = libm::floor(start / chunk) as usize;
        let last = libm::ceil((start + run) / chunk * (1.0 - 1e-12)) as usize;
        let mut at = first;
        while at < last {
            let end = ((at / data + 1) * data).min(last);
            operations += stripe_operations(drives, parity, end - at);
            at = end;
        }
    }
    let whole = run / chunk * drives as f64 / data as f64;
    Ok(ratio(operations as f64 / starts as f64 / whole))
}

/// Rate of reads and writes mixed on one set of heads, by the share of bytes that are read:
/// `1 / (w / R + (1 - w) / W)`.
///
/// Checked by `validate_mixed_reads_and_writes`.
pub fn mixed(read_share: Ratio, read: DataRate, write: DataRate) -> DataRate {
    let w = ratio(read_share.get::<one>().clamp(0.0, 1.0));
    ratio(1.0) / (w / read + (ratio(1.0) - w) / write)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::array::Bytes;
    use approx::assert_relative_eq;
    use narrows_units::quantity::{in_megabytes_per_second, megabytes, megabytes_per_second};

    /// Half a unit of the sixth printed digit.
    const PRINTED: f64 = 5e-6;

    #[test]
    fn validate_partial_stripes() {
        // drives, parities, changed chunks: the smaller of the two ways
        for (n, p, k, operations) in [
            (3, 1, 1, 3),
            (4, 1, 1, 4),
            (5, 1, 1, 4),
            (8, 1, 1, 4),
            (8, 1, 3, 8),
            (4, 2, 1, 4),
            (6, 2, 1, 6),
            (8, 2, 1, 6),
            (10, 2, 2, 8),
            (8, 2, 0, 0),
            (8, 2, 99, 8),
        ] {
            assert_eq!(stripe_operations(n, p, k), operations, "{n} {p} {k}");
        }
    }

    #[test]
    fn validate_write_amplification() {
        // eight drives, two parities, chunks of 512 KiB; runs of 1, 3, 8 and 64 MiB
        let mebibytes = |count: u32| Bytes::kibibytes(count * 1024).information();
        let chunk = Bytes::kibibytes(512).information();
        for (run, expected) in [(1, 3.68750), (3, 1.89583), (8, 1.33594), (64, 1.04199)] {
            let found = write_amplification(mebibytes(run), chunk, 8, 2).unwrap();
            assert_relative_eq!(found.get::<one>(), expected, max_relative = PRINTED);
        }
        for (run, chunk, drives) in [
            (0.0, 1.0, 8),
            (1.0, 0.0, 8),
            (1.0, 1.0, 2),
            (f64::NAN, 1.0, 8),
        ] {
            assert!(write_amplification(megabytes(run), megabytes(chunk), drives, 2).is_err());
        }
    }

    #[test]
    fn validate_mixed_reads_and_writes() {
        let (read, write) = (megabytes_per_second(1078.0), megabytes_per_second(539.0));
        let found = in_megabytes_per_second(mixed(ratio(0.7), read, write));
        assert_relative_eq!(found, 829.231, max_relative = PRINTED);
        assert_eq!(mixed(ratio(1.0), read, write), read);
    }
}
