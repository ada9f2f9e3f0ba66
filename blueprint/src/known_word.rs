//! Finds the known word that a person means, whether typed in the singular or the plural, with
//! capitals or small letters, with a blank or a hyphen.

/// The known word that `word` means.
///
/// # Errors
/// Where it means none of them: the one that comes nearest, if any does.
pub fn meant<'a>(
    word: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Result<&'a str, Option<&'a str>> {
    let known: Vec<&str> = known.into_iter().collect();
    let (typed, stem) = (folded(word), stem(word));
    if let Some(same) = known.iter().find(|known| folded(known) == typed) {
        return Ok(same);
    }
    let mut alike = known.iter().filter(|known| self::stem(known) == stem);
    match (alike.next(), alike.next()) {
        (Some(only), None) => Ok(only),
        (Some(_), Some(_)) => Err(None),
        (None, _) => Err(nearest(&stem, &known)),
    }
}

/// Small letters, hyphens between the words, and no slash at the end.
fn folded(word: &str) -> String {
    let word = word.trim().trim_matches('/').to_lowercase();
    let parts: Vec<&str> = word
        .split(|c: char| c.is_whitespace() || c == '-' || c == '_')
        .filter(|part| !part.is_empty())
        .collect();
    parts.join("-")
}

/// [`folded`], each of its words in the singular.
fn stem(word: &str) -> String {
    let folded = folded(word);
    let singular = |part| str::strip_suffix(part, 's').unwrap_or(part);
    let parts: Vec<&str> = folded.split('-').map(singular).collect();
    parts.join("-")
}

/// The known word with the fewest slips of the pen between it and `stem`: at most one in three
/// letters. Common practice, no source.
fn nearest<'a>(stem: &str, known: &[&'a str]) -> Option<&'a str> {
    let slips = |known: &&&str| slips(stem, &self::stem(known));
    let best = known.iter().min_by_key(slips)?;
    let allowed = (stem.chars().count() / 3).max(1);
    (slips(&best) <= allowed && stem.chars().count() > 1).then_some(best)
}

/// How many letters were left out, put in, mistaken or exchanged with their neighbour: the optimal
/// string alignment distance (from memory).
fn slips(from: &str, to: &str) -> usize {
    let (from, to): (Vec<char>, Vec<char>) = (from.chars().collect(), to.chars().collect());
    let mut rows = vec![(0..=to.len()).collect::<Vec<usize>>()];
    for i in 1..=from.len() {
        let mut row = vec![i];
        for j in 1..=to.len() {
            let changed = usize::from(from[i - 1] != to[j - 1]);
            let mut least = (rows[i - 1][j - 1] + changed)
                .min(rows[i - 1][j] + 1)
                .min(row[j - 1] + 1);
            let exchanged = i > 1 && j > 1 && from[i - 1] == to[j - 2] && from[i - 2] == to[j - 1];
            if exchanged {
                least = least.min(rows[i - 2][j - 2] + 1);
            }
            row.push(least);
        }
        rows.push(row);
    }
    rows[from.len()][to.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROUTES: [&str; 5] = [
        "chambers",
        "chambers-balanced",
        "deck",
        "deck-sides",
        "valve-gaps",
    ];

    #[test]
    fn singular_plural_capitals_and_blanks_mean_the_same_word() {
        for (typed, known) in [
            ("chamber", "chambers"),
            ("Chambers", "chambers"),
            ("chamber/", "chambers"),
            ("decks", "deck"),
            ("deck side", "deck-sides"),
            ("Chamber_Balanced", "chambers-balanced"),
            ("valve gap", "valve-gaps"),
        ] {
            assert_eq!(meant(typed, ROUTES), Ok(known), "{typed}");
        }
    }

    #[test]
    fn a_slip_names_the_word_that_was_meant_and_never_takes_it() {
        assert_eq!(meant("chamebr", ROUTES), Err(Some("chambers")));
        assert_eq!(meant("dek", ROUTES), Err(Some("deck")));
        assert_eq!(meant("camshaft", ROUTES), Err(None));
        assert_eq!(meant("", ROUTES), Err(None));
    }

    #[test]
    fn a_word_that_means_two_is_not_taken_for_one() {
        assert_eq!(meant("port", ["ports", "PORTS "]), Err(None));
        assert_eq!(meant("port", ["port", "ports"]), Ok("port"));
    }
}
