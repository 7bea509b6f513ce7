//! Which interface bytes take to an address.

use super::{NotThere, Said, shown};
use std::net::{Ipv4Addr, Ipv6Addr};

const MOST: usize = 10_000;

/// `/proc/net/route`: the longest prefix, then the least metric. Addresses are in the order of this machine, little end
/// first. Test: `verify_ways`.
pub fn way_to(text: &str, address: Ipv4Addr) -> Said<String> {
    let address = u32::from_le_bytes(address.octets());
    let rows = text.lines().skip(1).take(MOST).filter_map(|line| {
        let cells: Vec<&str> = line.split_whitespace().collect();
        let hex = |at: usize| u32::from_str_radix(cells.get(at)?, 16).ok();
        let (target, flags, mask) = (hex(1)?, hex(3)?, hex(7)?);
        let metric: u32 = cells.get(6)?.parse().ok()?;
        // the first flag: the row is in use
        (flags & 1 == 1 && address & mask == target).then(|| {
            (
                mask.count_ones(),
                std::cmp::Reverse(metric),
                *cells.first().unwrap_or(&""),
            )
        })
    });
    rows.max_by_key(|row| (row.0, row.1))
        .map(|(.., name)| shown(name))
        .ok_or_else(|| NotThere::because("no row of the routes leads there"))
}

/// `/proc/net/ipv6_route`, in the same way. Test: `verify_ways`.
pub fn way_to_v6(text: &str, address: Ipv6Addr) -> Said<String> {
    let address = u128::from(address);
    let rows = text.lines().take(MOST).filter_map(|line| {
        let cells: Vec<&str> = line.split_whitespace().collect();
        let target = u128::from_str_radix(cells.first()?, 16).ok()?;
        let length = u32::from_str_radix(cells.get(1)?, 16)
            .ok()
            .filter(|n| *n <= 128)?;
        let metric = u32::from_str_radix(cells.get(5)?, 16).ok()?;
        let flags = u32::from_str_radix(cells.get(8)?, 16).ok()?;
        let name = cells.get(9)?;
        let mask = u128::MAX.checked_shl(128 - length).unwrap_or(0);
        (flags & 1 == 1 && address & mask == target & mask).then_some((
            length,
            std::cmp::Reverse(metric),
            *name,
        ))
    });
    rows.max_by_key(|row| (row.0, row.1))
        .map(|(.., name)| shown(name))
        .ok_or_else(|| NotThere::because("no row of the routes leads there"))
}
