//! Sites that are drawn, and a catalogue whose constants are off.

use crate::catalogue::Catalogue;
use rand_core::Rng;
use rand_pcg::Pcg64Mcg;
use std::fmt::Write;

/// How far constants of the generator are off, up or down.
pub(super) const OFF: f64 = 0.15;

/// Luck of one seed.
pub(super) struct Luck(pub(super) Pcg64Mcg);

impl Luck {
    pub(super) fn share(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub(super) fn below(&mut self, n: usize) -> usize {
        (self.share() * n as f64) as usize
    }

    fn one<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.below(of.len())]
    }

    pub(super) fn weighted(&mut self, weights: &[f64]) -> usize {
        let mut left = self.share() * weights.iter().sum::<f64>();
        for (i, w) in weights.iter().enumerate() {
            left -= w;
            if left < 0.0 {
                return i;
            }
        }
        weights.len() - 1
    }

    pub(super) fn normal(&mut self) -> f64 {
        let (a, b) = (self.share().max(1e-300), self.share());
        libm::sqrt(-2.0 * libm::log(a)) * libm::cos(2.0 * std::f64::consts::PI * b)
    }
}

/// A site of one desk.
pub(super) fn site_text(luck: &mut Luck) -> String {
    let array = luck.one(&[
        "layout = \"raid1\"\ndrives = \"2 x 8 TB hdd-5400\"",
        "layout = \"raid5\"\ndrives = \"4 x 8 TB hdd-7200\"",
        "layout = \"raid6\"\ndrives = \"6 x 10 TB hdd-7200\"\nfill = \"60 %\"",
        "layout = \"raidz2\"\ndrives = \"8 x 12 TB hdd-7200\"",
        "layout = \"single\"\ndrives = \"1 x 4 TB hdd\"",
        "layout = \"raid5\"\ndrives = \"4 x 2 TB ssd-sata\"\nfill = \"70 %\"",
    ]);
    let rate = luck.one(&[
        "100 Mb/s", "1 Gb/s", "1 Gb/s", "1 Gb/s", "2.5 Gb/s", "10 Gb/s", "10 Gb/s",
    ]);
    let cpu = luck.one(&[
        "cpu = \"small\"\n",
        "cpu = \"medium\"\n",
        "cpu = \"large\"\n",
        "",
    ]);
    let service = luck.one(&[
        "service = \"smb\"\n",
        "service = \"smb\"\n",
        "service = \"nfs\"\n",
        "service = \"sftp\"\n",
    ]);
    let adapter = if luck.share() < 0.2 {
        ", adapter = \"usb 5 Gb/s\""
    } else {
        ""
    };
    let frames = if luck.share() < 0.15 {
        ", mtu = 9000"
    } else {
        ""
    };
    let cable = luck.one(&["cat5e", "cat6", "cat6a"]);
    let radio = luck.share() < 0.08;
    let mut out = format!(
        "name = \"drawn\"\n[array.vault]\nnas = \"store\"\n{array}\n[nas.store]\n{cpu}{service}port.a = {{ rate = \"{rate}\"{frames} }}\n"
    );
    let desk_run = if radio {
        "wireless = \"rated 866 Mb/s\"".to_owned()
    } else {
        format!("cable = \"{cable}\"\nlength = \"20 m\"")
    };
    let _ = write!(
        out,
        "[desk.cut-1]\nport.a = {{ rate = \"{rate}\"{adapter} }}\n"
    );
    if radio || luck.share() < 0.6 {
        let _ = write!(
            out,
            "[switch.attic]\nport.any = {{ rate = \"{rate}\", count = 4 }}\n[[run]]\nfrom = \"desk.cut-1\"\nto = \"switch.attic\"\n{desk_run}\n[[run]]\nfrom = \"nas.store\"\nto = \"switch.attic\"\ncable = \"cat6a\"\nlength = \"3 m\"\n"
        );
    } else {
        let _ = write!(
            out,
            "[[run]]\nfrom = \"desk.cut-1\"\nto = \"nas.store\"\n{desk_run}\n"
        );
    }
    out
}

/// Constants off by up to [`OFF`], up or down, each with luck of its own: a new row moves no other.
pub(super) fn bent(catalogue: &Catalogue, luck: &mut Luck) -> Catalogue {
    let site = u128::from(luck.0.next_u64());
    let factor = |id: &str| {
        // FNV-1a, so that the luck of a row comes from its name
        let name = id.bytes().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
        });
        let mut own = Luck(Pcg64Mcg::new(site << 64 | u128::from(name) | 1));
        own.share();
        if own.share() < 0.5 {
            1.0
        } else {
            1.0 + OFF * (2.0 * own.share() - 1.0).signum()
        }
    };
    catalogue.bent(|row| {
        // shares that cannot exceed one, and what the explainer weighs with, stay as they are
        let rate = row.unit.ends_with("/s") || row.unit == "ms";
        if rate && !row.id.starts_with("pcie") && !row.id.starts_with("explain.") {
            factor(&row.id)
        } else {
            1.0
        }
    })
}
