use super::super::*;
use super::{close, gigabits, mb_s};
use narrows_units::quantity::{LinkRate, units};
use std::net::Ipv4Addr;

#[test]
fn validate_rates() {
    assert_eq!(rate("10000\n"), Ok(gigabits(10)));
    assert_eq!(duplex("full\n"), Ok(Duplex::Full));
    assert_eq!(carrier("1\n"), Ok(true));
    assert_eq!(largest_packet("9000\n"), Ok(9000));
    assert!(rate("-1\n").is_err());
    assert!(duplex("unknown").is_err());
    assert_eq!(rate("100").map(LinkRate::megabits), Ok(100.0));
    assert_eq!(duplex("half"), Ok(Duplex::Half));
    assert!(rate("65535").is_err());
    assert!(rate("4294967295").is_err());
}

#[test]
fn verify_states() {
    assert_eq!(state("up\n"), State::Up);
    assert_eq!(state("lowerlayerdown"), State::LowerDown);
    assert_eq!(state("unknown"), State::Unsaid);
}

#[test]
fn validate_joined_links() {
    let ten = [gigabits(10), gigabits(10)];
    let equal = |members| {
        Ok(Joined::Equal {
            member: gigabits(10),
            members,
        })
    };
    assert_eq!(joined("802.3ad 4\n", &ten), equal(2));
    assert_eq!(joined("active-backup 1", &ten), equal(1));
    let mixed = [gigabits(10), gigabits(1)];
    assert_eq!(
        joined("802.3ad 4", &mixed),
        Ok(Joined::Unequal(mixed.to_vec()))
    );
}

#[test]
fn validate_kinds() {
    let of = |uevent: &str| {
        kind(KindTexts {
            uevent: Some(uevent),
            device: true,
            ..KindTexts::default()
        })
    };
    assert_eq!(of("DEVTYPE=bond\nINTERFACE=bond0\nIFINDEX=7"), Kind::Joined);
    assert_eq!(of("DEVTYPE=vlan\nINTERFACE=lan.30\n"), Kind::Tag);
    assert_eq!(of("INTERFACE=enp3s0\nIFINDEX=2\n"), Kind::Wire);
    // a pair inside the machine: up, a rate, and no device
    let pair = KindTexts {
        uevent: Some("INTERFACE=veth0\nIFINDEX=9\n"),
        hardware: Some("1\n"),
        ..KindTexts::default()
    };
    assert_eq!(kind(pair), Kind::Virtual);
    let tunnel = KindTexts {
        tunnel: true,
        device: true,
        ..KindTexts::default()
    };
    assert_eq!(kind(tunnel), Kind::Virtual);
    let own = KindTexts {
        hardware: Some("772\n"),
        ..KindTexts::default()
    };
    assert_eq!(kind(own), Kind::Loopback);
}

#[test]
fn validate_tags() {
    let text = "VLAN Dev name\t | VLAN ID\nName-Type: VLAN_NAME_TYPE_RAW_PLUS_VID_NO_PAD\nlan.30         | 30  | lan\n";
    assert_eq!(
        tagged(text),
        [Tagged {
            name: "lan.30".into(),
            number: 30,
            parent: "lan".into()
        }]
    );
}

const HEALTHY: &str = "Personalities : [raid6] [raid5] [raid4]
md0 : active raid6 sde1[4] sdd1[3] sdc1[2] sdb1[1] sdf1[5] sda1[0]
      39065217024 blocks super 1.2 level 6, 512k chunk, algorithm 2 [6/6] [UUUUUU]
      bitmap: 0/73 pages [0KB], 65536KB chunk

unused devices: <none>
";
const REBUILDING: &str = "md1 : active raid5 sdg1[5] sdh1[6](S) sdd1[3] sdc1[2] sdb1[1](F) sda1[0]
      11720779776 blocks super 1.2 level 5, 64k chunk, algorithm 2 [4/3] [U_UU]
      [==>..................]  recovery = 12.6% (492289792/3906926592) finish=341.2min speed=166784K/sec
";
const OTHERS: &str = "md2 : active (auto-read-only) raid1 sdb2[1] sda2[0]
      1000 blocks super 1.2 [2/2] [UU]
      \tresync=PENDING
md4 : active raid6 sda1[0] sdb1[1]
      1000 blocks [4/4] [UUUU]
      [===>....]  check = 17.0% (1/2) finish=10.5min speed=1000K/sec
md5 : active raid5 sda1[0]
      [>...]  reshape =  1.0% (1/2) finish=10.5min speed=1000K/sec
md3 : inactive sdd1[0](S)
      1000 blocks super 1.2
md6 : active raid10 sda1[0] sdb1[1] sdc1[2] sdd1[3]
      1000 blocks super 1.2 512K chunks 2 near-copies [4/4] [UUUU]
md7 : active raid0 sda1[0] sdb1[1]
      1000 blocks super 1.2 512k chunks
";

#[test]
fn validate_arrays() {
    let found = arrays(HEALTHY);
    assert_eq!(found.len(), 1);
    let array = &found[0];
    assert_eq!((array.layout, array.drives.len()), (Some("raid6"), 6));
    assert_eq!((array.wanted, array.failed), (Some(6), Some(0)));
    assert_eq!((array.spares, array.activity), (0, None));
    let array = &arrays(REBUILDING)[0];
    assert_eq!((array.layout, array.wanted), (Some("raid5"), Some(4)));
    assert_eq!((array.failed, array.spares), (Some(1), 1));
    assert_eq!(array.activity, Some(Activity::Rebuilding));
    close(mb_s(array.rate.unwrap()), 170.787);
    let left = array.left.unwrap().get::<units::time::minute>();
    close(left, 341.2);
    let found = arrays(OTHERS);
    let of = |name: &str| found.iter().find(|array| array.name == name).unwrap();
    assert_eq!(of("md2").running, Running::ReadOnly);
    assert_eq!(of("md2").layout, Some("raid1"));
    assert_eq!(of("md2").activity, Some(Activity::Waiting));
    assert_eq!(of("md4").activity, Some(Activity::Scrubbing));
    assert_eq!(of("md5").activity, Some(Activity::Rebuilding));
    assert_eq!((of("md3").running, of("md3").spares), (Running::No, 0));
    assert_eq!(of("md6").failed, Some(0));
    assert_eq!((of("md7").layout, of("md7").failed), (Some("raid0"), None));
}

const SMB: &str = "88 31 0:57 / /mnt/vault rw,relatime shared:44 - cifs //store/vault rw,vers=3.1.1,sec=ntlmsspi,cache=strict,username=someone,uid=1000,noforceuid,addr=192.0.2.10,seal,rsize=4194304,wsize=4194304,bsize=1048576,multichannel,max_channels=4";
const NFS: &str = "91 31 0:60 / /mnt/my\\040vault rw,noatime - nfs4 store:/vault rw,vers=4.2,rsize=1048576,wsize=1048576,namlen=255,hard,proto=tcp,nconnect=4,timeo=600,retrans=2,sec=sys,clientaddr=192.0.2.21,addr=192.0.2.10";
const USER: &str = "95 31 0:63 / /mnt/desk rw,nosuid,nodev - fuse.sshfs someone@store:/vault rw,user_id=1000,group_id=1000";

#[test]
fn validate_mounts() {
    let all = [SMB, NFS, USER].join("\n");
    let found = mounts(&all);
    let [smb, nfs, user] = &found[..] else {
        panic!("{found:?}");
    };
    assert_eq!(
        (smb.point.as_str(), smb.service),
        ("/mnt/vault", Service::Smb)
    );
    assert_eq!(smb.version.as_deref(), Ok("3.1.1"));
    assert_eq!((&smb.signed, &smb.encrypted), (&Ok(true), &Ok(true)));
    assert_eq!(smb.connections, Ok(4));
    assert_eq!(smb.read_size, Ok(4_194_304));
    assert_eq!(
        (nfs.point.as_str(), nfs.service),
        ("/mnt/my vault", Service::Nfs)
    );
    assert_eq!((&nfs.signed, &nfs.encrypted), (&Ok(false), &Ok(false)));
    assert_eq!(nfs.connections, Ok(4));
    let private = mounts(&NFS.replace("sec=sys", "sec=krb5p"));
    assert_eq!(private[0].encrypted, Ok(true));
    let checked = mounts(&NFS.replace("sec=sys", "sec=krb5i"));
    assert_eq!(
        (&checked[0].signed, &checked[0].encrypted),
        (&Ok(true), &Ok(false))
    );
    assert_eq!((user.service, user.user_space), (Service::Sftp, true));
    assert_eq!(user.source, "store:/vault");
    assert!(!format!("{found:?}").contains("someone"));
}

#[test]
fn verify_which_mount_holds_a_folder() {
    let text = "1 0 8:1 / / rw - ext4 /dev/sda1 rw\n2 1 0:5 / /mnt rw - ext4 /dev/sdb1 rw\n\
        3 2 0:6 / /mnt/vault rw - nfs4 store:/old rw\n4 2 0:7 / /mnt/vault rw - nfs4 store:/new rw\n";
    let all = mounts(text);
    let source = |path: &str| holding(&all, path).map(|mount| mount.source.clone());
    assert_eq!(source("/mnt/vault/rushes").as_deref(), Some("store:/new"));
    assert_eq!(source("/mnt/vaults").as_deref(), Some("/dev/sdb1"));
    assert_eq!(source("/home").as_deref(), Some("/dev/sda1"));
}

#[test]
fn validate_slots() {
    let found = slot("8.0 GT/s PCIe\n", "4\n").unwrap();
    assert_eq!(found.to_string(), "pcie 3 x4");
    assert_eq!(slot("5 GT/s", "1").unwrap().to_string(), "pcie 2 x1");
    assert!(slot("Unknown", "63").is_err());
    assert_eq!(slot("2.5 GT/s PCIe", "4").unwrap().generation, 1);
    assert_eq!(slot("16.0 GT/s PCIe", "4").unwrap().generation, 4);
    for (speed, lanes, gb_s) in [
        ("2.5 GT/s", "1", 0.25),
        ("5 GT/s", "1", 0.5),
        ("5 GT/s", "4", 2.0),
        ("8 GT/s", "1", 0.984_615),
        ("8 GT/s", "4", 3.93846),
        ("8 GT/s", "8", 7.87692),
        ("16 GT/s", "4", 7.87692),
        ("32 GT/s", "4", 15.7538),
    ] {
        close(mb_s(after_coding(slot(speed, lanes).unwrap())) / 1e3, gb_s);
    }
}

const SNMP: &str = "Tcp: RtoAlgorithm RtoMin RtoMax MaxConn ActiveOpens PassiveOpens AttemptFails EstabResets CurrEstab InSegs OutSegs RetransSegs InErrs OutRsts InCsumErrors\nTcp: 1 200 120000 -1 98 2 0 80 2 905822 1000000 200 0 93 0\n";

#[test]
fn validate_resent_segments() {
    let before = tcp(SNMP).unwrap();
    let after =
        tcp(&SNMP.replace("905822 1000000 200 0 93 0", "1705822 1850000 1050 0 93 0")).unwrap();
    let found = resent(before, after).unwrap();
    assert_eq!((found.resent, found.sent), (850, 850_000));
    close(found.share(), 0.001);
    assert!(resent(after, before).is_err());
}

#[test]
fn validate_busy_cores() {
    let start =
        "cpu  1 2 3\ncpu0 1000 0 500 20000 100 0 50 0 0 0\ncpu1 1000 0 500 20000 100 0 50 0 0 0\n";
    let end =
        "cpu0 1030 0 560 20040 105 0 115 0 0 0\ncpu1 1010 0 510 20170 110 0 50 0 0 0\nintr 1\n";
    let found = busy(&ticks(start), &ticks(end)).unwrap();
    close(found.busiest, 0.775);
    close(found.interrupts, 0.325);
    close(found.mean, 0.4375);
}

#[test]
fn validate_drives() {
    let texts = DriveTexts {
        name: "sda",
        size: Some("15628053168\n"),
        rotational: Some("1\n"),
        scheduler: Some("[mq-deadline] none\n"),
        logical: Some("512\n"),
        physical: Some("4096\n"),
        device: true,
        ..DriveTexts::default()
    };
    let found = drive(texts).unwrap();
    close(found.bytes as f64 / 1e12, 8.00156);
    assert_eq!(found.turning, Ok(Turning::Likely));
    assert_eq!(found.scheduler.as_deref(), Some("mq-deadline"));
    assert_eq!((found.logical, found.physical), (Some(512), Some(4096)));
    let empty = DriveTexts {
        size: Some("0"),
        ..texts
    };
    assert_eq!(drive(empty).unwrap_err().0, "an empty reader");
    let bridge = DriveTexts {
        removable: Some("1"),
        usb: true,
        ..texts
    };
    let found = drive(bridge).unwrap();
    assert!(found.turning.is_err() && found.class.is_err());
}

#[test]
fn validate_processors() {
    let block = |n: u32, core: u32| {
        format!(
            "processor\t: {n}\nphysical id\t: 0\ncore id\t\t: {core}\nflags\t\t: fpu aes sse2\n\n"
        )
    };
    let text: String = [(0, 0), (1, 0), (2, 1), (3, 1)]
        .map(|(n, core)| block(n, core))
        .concat();
    let found = processor(&text).unwrap();
    assert_eq!((found.cores, found.threads, found.aes), (2, 4, true));
    let arm =
        "processor : 0\nFeatures : fp asimd evtstrm aes pmull sha1 sha2 crc32\nprocessor : 1\n";
    let found = processor(arm).unwrap();
    assert_eq!((found.cores, found.aes, found.sha), (2, true, true));
}

#[test]
fn validate_radios() {
    let text = "Inter-| sta-|   Quality        |   Discarded packets               | Missed | WE\n face | tus | link level noise |  nwid  crypt   frag  retry   misc | beacon | 22\n wlan0: 0000   58.  -52.  -256        0      0      0      3     41        0\n";
    let found = radios(text);
    assert_eq!(found.len(), 1);
    assert_eq!(
        (&found[0].name[..], &found[0].signal),
        ("wlan0", &Ok(-52.0))
    );
    assert!(found[0].noise.is_err());
    let link = "Connected to 02:00:00:00:00:01 (on wlan0)\n\tsignal: -61 dBm\n\ttx bitrate: 866.7 MBit/s VHT-MCS 9 80MHz short GI VHT-NSS 2\n";
    let found = radio_rate(link).unwrap();
    assert_eq!((found.signal, found.transmit), (Ok(-61.0), Ok(866.7)));
    assert!(radio_rate("Not connected.\n").is_err());
}

#[test]
fn validate_memory() {
    let found = memory("MemTotal:       16319540 kB\nDirty: 812340 kB\nWriteback: 0 kB\n").unwrap();
    close(found.total as f64 / 1e9, 16.7112);
    close(found.unsaved.unwrap() as f64 / 1e9, 0.831836);
}

#[test]
fn verify_ways() {
    let text = "Iface\tDestination\tGateway\tFlags\tRefCnt\tUse\tMetric\tMask\tMTU\tWindow\tIRTT\n\
        lan\t00000000\t010200C0\t0003\t0\t0\t100\t00000000\t0\t0\t0\n\
        fast\t000200C0\t00000000\t0001\t0\t0\t200\t00FFFFFF\t0\t0\t0\n\
        radio\t000200C0\t00000000\t0001\t0\t0\t600\t00FFFFFF\t0\t0\t0\n";
    assert_eq!(
        way_to(text, Ipv4Addr::new(192, 0, 2, 10)).as_deref(),
        Ok("fast")
    );
    assert_eq!(
        way_to(text, Ipv4Addr::new(198, 51, 100, 1)).as_deref(),
        Ok("lan")
    );
    assert!(way_to("Iface\n", Ipv4Addr::LOCALHOST).is_err());
    let six = "20010db8000000000000000000000000 20 00000000000000000000000000000000 00 00000000000000000000000000000000 00000100 00000001 00000000 00000001 fast\n\
        00000000000000000000000000000000 00 00000000000000000000000000000000 00 20010db8000000000000000000000001 00000400 00000001 00000000 00000003 lan\n";
    assert_eq!(
        way_to_v6(six, "2001:db8::7".parse().unwrap()).as_deref(),
        Ok("fast")
    );
    assert_eq!(
        way_to_v6(six, "2002::7".parse().unwrap()).as_deref(),
        Ok("lan")
    );
}
