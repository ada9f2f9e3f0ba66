//! An archive that is not what was packed: strange entries, flipped bits, a missing end.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use tar::{Archive, Builder, EntryType, Header};

use super::archives::{PackedJob, carried, pack, packable, packed_upto, put, refused, snapshot};
use super::*;
use crate::store::archive::fault::ArchiveFault;
use crate::store::archive::manifest::{ArchiveManifest, PackedFile, PackedStreams};
use crate::store::error::StoreError;

/// A job's archive in parts, to be put together otherwise.
struct ArchiveParts {
    manifest: ArchiveManifest,
    entries: Vec<(String, Vec<u8>, EntryType)>,
}

impl ArchiveParts {
    fn of(packed: &PackedJob) -> Self {
        let mut archive = Archive::new(packed.bytes.as_slice());
        let mut entries = Vec::new();
        for entry in archive.entries().unwrap().skip(1) {
            let mut entry = entry.unwrap();
            let name = entry.path().unwrap().to_string_lossy().into_owned();
            let mut bytes = Vec::new();
            std::io::Read::read_to_end(&mut entry, &mut bytes).unwrap();
            entries.push((name, bytes, EntryType::Regular));
        }
        Self {
            manifest: packed.manifest.clone(),
            entries,
        }
    }

    /// Adds a file, to the manifest too.
    fn add(mut self, name: &str, bytes: &[u8], kind: EntryType) -> Self {
        self.manifest.files.push(PackedFile::of(name, bytes));
        self.entries.push((name.into(), bytes.to_vec(), kind));
        self
    }

    /// Puts other bytes in the place of a file's, in the manifest too.
    fn replace(mut self, name: &str, bytes: &[u8]) -> Self {
        let file = self
            .manifest
            .files
            .iter_mut()
            .find(|file| file.name == name);
        *file.unwrap() = PackedFile::of(name, bytes);
        let entry = self.entries.iter_mut().find(|entry| entry.0 == name);
        entry.unwrap().1 = bytes.to_vec();
        self
    }

    fn built(&self) -> Vec<u8> {
        let mut archive = Builder::new(Vec::new());
        let text = serde_json::to_vec(&self.manifest).unwrap();
        let first = ("manifest.json".to_owned(), text, EntryType::Regular);
        for (name, bytes, kind) in std::iter::once(&first).chain(&self.entries) {
            let mut header = Header::new_ustar();
            header.set_entry_type(*kind);
            // As bytes: no maker of archives lets such a path in.
            header.as_mut_bytes()[..name.len()].copy_from_slice(name.as_bytes());
            header.set_size(bytes.len() as u64);
            header.set_cksum();
            archive.append(&header, bytes.as_slice()).unwrap();
        }
        archive.into_inner().unwrap()
    }
}

#[test]
fn an_archive_with_anything_else_in_it_is_refused() {
    let (_, store) = packable();
    let packed = pack(&store);
    let parts = || ArchiveParts::of(&packed);
    let disks = TestDisks::new(12);
    let other = disks.store();
    let refuse = |what: &str, archive: ArchiveParts, why: &str| {
        let told = refused(&disks, &other, &archive.built(), None).to_string();
        assert!(told.contains(why), "{what}: {told}");
    };
    for name in [
        "/etc/x",
        "../x",
        "streams/../../x",
        "streams/../../../x-001.ndjson",
        "C:\\x",
        "x/engine.toml",
        "notes.txt",
    ] {
        let outside = parts().add(name, b"x", EntryType::Regular);
        refuse(name, outside, "no file of a job is called so");
    }
    for kind in [
        EntryType::Symlink,
        EntryType::Link,
        EntryType::Directory,
        EntryType::Fifo,
        EntryType::Char,
        EntryType::XHeader,
        EntryType::GNULongName,
        EntryType::GNUSparse,
    ] {
        let strange = parts().add("torn-1-1.txt", b"", kind);
        refuse(&format!("{kind:?}"), strange, "it is no plain file");
    }
    let mut unlisted = parts().add("torn-1-1.txt", b"x", EntryType::Regular);
    unlisted.manifest.files.pop();
    refuse("unlisted", unlisted, "does not name such a file");
    let mut missing = parts();
    missing.entries.retain(|entry| entry.0 != "engine.toml");
    refuse("missing", missing, "engine.toml is missing");
    let mut without = parts();
    without.entries.retain(|entry| entry.0 != "journal.end");
    without
        .manifest
        .files
        .retain(|file| file.name != "journal.end");
    refuse("no end", without, "journal.end is missing");
    let mut twice = parts();
    twice.entries.push(twice.entries[0].clone());
    refuse("twice", twice, "it stands there twice");
    let mut longer = parts();
    longer.entries[0].1.push(b'x');
    refuse("longer", longer, "its manifest says");
    let capitals = parts().add("streams/BURETTE-1-001.ndjson", b"", EntryType::Regular);
    refuse("capitals", capitals, "its manifest names it twice");
    let mut left_out = parts();
    left_out.manifest.streams = PackedStreams::LeftOut;
    refuse("left out", left_out, "streams were left out");
    let mut newer = parts();
    newer.manifest.format = 3;
    refuse("newer", newer, "use the newer program");
    let mut other_name = parts();
    other_name.manifest.job = "v9".into();
    refuse("another's", other_name, "record of job \"v8\"");
    let mut bad_name = parts();
    bad_name.manifest.job = "../v9".into();
    refuse("a bad name", bad_name, "cannot be the name of a job");
    assert!(
        other.unpack(&mut carried(&parts().built()), None).is_ok(),
        "the parts themselves are sound"
    );
}

#[test]
fn a_record_that_is_not_whole_is_refused_though_every_hash_of_the_archive_fits() {
    let (source, store) = packable();
    let packed = pack(&store);
    let disks = TestDisks::new(12);
    let other = disks.store();
    let journal = source.read("jobs/v8/journal.ndjson");
    let lines: Vec<&str> = journal.split_inclusive('\n').collect();
    for (what, record) in [
        ("a changed value", journal.replace("61.0", "67.0")),
        ("a missing line", journal.replace(lines[3], "")),
        ("a missing end", lines[..7].concat()),
        ("a half line", journal[..journal.len() - 9].to_owned()),
        ("nothing", String::new()),
        ("other lines", "x\n".repeat(9)),
    ] {
        let archive = ArchiveParts::of(&packed).replace("journal.ndjson", record.as_bytes());
        for name in [None, Some("v8-b")] {
            let error = refused(&disks, &other, &archive.built(), name);
            let damaged = matches!(error, StoreError::Archive(ArchiveFault::Damaged(_)));
            assert!(damaged, "{what}: {error}");
        }
    }
    let end = ArchiveParts::of(&packed).replace("journal.end", b"{}");
    let error = refused(&disks, &other, &end.built(), None).to_string();
    assert!(
        error.contains("does not say what the manifest says"),
        "{error}"
    );
}

#[test]
fn a_flipped_bit_is_refused_or_changes_nothing_of_the_job() {
    let (source, store) = packable();
    let packed = pack(&store);
    let whole = snapshot(&source, "jobs");
    let mut dice = ChaCha8Rng::seed_from_u64(0x9ac);
    let mut refusals = 0;
    for _ in 0..50 {
        let (place, bit) = (
            dice.random_range(0..packed.bytes.len()),
            dice.random_range(0..8),
        );
        let mut flipped = packed.bytes.clone();
        flipped[place] ^= 1 << bit;
        let disks = TestDisks::new(13);
        let other = disks.store();
        match other.unpack(&mut carried(&flipped), None) {
            Ok(_) => assert_eq!(snapshot(&disks, "jobs"), whole, "byte {place}, bit {bit}"),
            Err(_) => {
                assert!(
                    snapshot(&disks, "jobs").is_empty(),
                    "byte {place}, bit {bit}"
                );
                refusals += 1;
            }
        }
    }
    assert!(refusals > 25, "only {refusals} of 50 were refused");
}

#[test]
fn an_archive_that_was_cut_off_is_refused() {
    let (_, store) = packable();
    let packed = pack(&store);
    let disks = TestDisks::new(13);
    let other = disks.store();
    let mut dice = ChaCha8Rng::seed_from_u64(0xc07);
    let all = packed.bytes.len();
    let seeded = (0..50).map(|_| dice.random_range(0..all));
    for len in seeded.chain([0, 1, 511, 512, all - 513, all - 512, all - 1]) {
        refused(&disks, &other, &packed.bytes[..len], None);
    }
    assert!(other.unpack(&mut carried(&packed.bytes), None).is_ok());
}

#[test]
fn a_file_that_changes_while_it_is_packed_makes_no_archive() {
    let (disks, store) = packable();
    let reader = store.reader();
    let stream = "jobs/v8/streams/burette-1-001.ndjson";
    let whole = disks.read(stream);
    let longer = format!("{whole}{{\"at\":1}}\n");
    for (what, after, sound) in [
        ("it grew at its end, as a recording does", longer, true),
        ("another byte", whole.replace("in", "im"), false),
        ("it became shorter", whole[..9].to_owned(), false),
    ] {
        put(&disks, stream, whole.as_bytes());
        let packing = reader
            .packing("v8", None, PackedStreams::Packed, &|_| ())
            .unwrap();
        put(&disks, stream, after.as_bytes());
        let mut bytes = Vec::new();
        let written = packing.write(&**store.files(), &mut bytes);
        assert_eq!(written.is_ok(), sound, "{what}");
        if sound {
            let elsewhere = TestDisks::new(12);
            let job = elsewhere.store().unpack(&mut carried(&bytes), None);
            assert!(job.is_ok(), "{what}");
            assert_eq!(elsewhere.read(stream), whole, "as long as it was");
        }
    }
}

/// An archive in whose place another one lies when it is read a second time.
struct Exchanged<'a> {
    now: std::io::Cursor<&'a [u8]>,
    later: &'a [u8],
    begun: usize,
}

impl std::io::Read for Exchanged<'_> {
    fn read(&mut self, to: &mut [u8]) -> std::io::Result<usize> {
        self.now.read(to)
    }
}

impl std::io::Seek for Exchanged<'_> {
    fn seek(&mut self, to: std::io::SeekFrom) -> std::io::Result<u64> {
        if to == std::io::SeekFrom::Start(0) {
            self.begun += 1;
            if self.begun == 2 {
                self.now = std::io::Cursor::new(self.later);
            }
        }
        self.now.seek(to)
    }
}

#[test]
fn an_archive_that_lost_a_stream_after_it_was_checked_is_not_taken() {
    let (_disks, store) = packable();
    let whole = pack(&store);
    let without = packed_upto(&store, "v8", None, PackedStreams::LeftOut).unwrap();
    let elsewhere = TestDisks::new(12);
    let other = elsewhere.store();
    let before = snapshot(&elsewhere, "jobs");
    let mut file = Exchanged {
        now: carried(&whole.bytes),
        later: &without.bytes,
        begun: 0,
    };
    let error = other.unpack(&mut file, None).unwrap_err();
    assert!(
        matches!(error, StoreError::Archive(ArchiveFault::Damaged(_))),
        "{error}"
    );
    assert_eq!(file.begun, 2, "read twice");
    assert_eq!(snapshot(&elsewhere, "jobs"), before, "nothing was taken");
}
