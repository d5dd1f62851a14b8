//! Catalogue values, entered a second time by hand from the sources that the catalogue names and from what every breeder
//! of the species knows, without looking at the entries: mode of inheritance, alleles, lethals and links with the sex.
//!
//! A source in brackets is the published one; "cp" is common practice, no source.

use hatchward::species::entries::Inheritance::{self, Dominant, IncompleteDominant, Recessive};
use hatchward::species::entries::{BreedingLimit, LethalStatus, Severity};
use hatchward::species::{Catalogue, Gene, Species};

fn species<'a>(catalogue: &'a Catalogue, name: &str) -> &'a Species {
    catalogue.get(catalogue.by_name(name).unwrap_or_else(|| panic!("{name} is a species")))
}

fn gene<'a>(species: &'a Species, id: &str) -> &'a Gene {
    species.gene(species.gene_by_id(id).unwrap_or_else(|| panic!("{id} is a gene of {}", species.name())))
}

const MODES: &[(&str, &str, Inheritance, &str)] = &[
    ("ball python", "albino", Recessive, "[Brown et al. 2022, PLoS ONE 17: e0276376] TYR variants; mode cp"),
    ("ball python", "lavender_albino", Recessive, "[Brown et al. 2022] OCA2 deletion; mode cp"),
    ("ball python", "ultramel", Recessive, "[Brown et al. 2022] TYRP1 variants; mode cp"),
    (
        "ball python",
        "piebald",
        Recessive,
        "[Garcia-Elfring et al. 2023, Current Biology 33: 755-763] TFEC nonsense, recessive",
    ),
    (
        "ball python",
        "clown",
        Recessive,
        "[Garcia-Elfring et al. 2025, Pigment Cell Melanoma Res 38: e13215] MC1R; mode cp",
    ),
    ("ball python", "genetic_stripe", Recessive, "cp"),
    ("ball python", "desert_ghost", Recessive, "cp"),
    ("ball python", "caramel_albino", Recessive, "cp"),
    ("ball python", "axanthic_vpi", Recessive, "cp"),
    ("ball python", "axanthic_tsk", Recessive, "cp"),
    ("ball python", "pastel", IncompleteDominant, "cp: super pastel differs"),
    ("ball python", "enchi", IncompleteDominant, "cp: super enchi differs"),
    ("ball python", "mojave", IncompleteDominant, "cp: super mojave is white with a grey head"),
    ("ball python", "lesser", IncompleteDominant, "cp: super lesser is white with blue eyes"),
    ("ball python", "cinnamon", IncompleteDominant, "cp: super cinnamon is near black"),
    ("ball python", "black_pastel", IncompleteDominant, "cp: super black pastel is near black"),
    (
        "ball python",
        "yellow_belly",
        IncompleteDominant,
        "[Dao et al. 2023, G3 13(7)] allelic series; cp: two copies are ivory",
    ),
    ("ball python", "fire", IncompleteDominant, "cp: super fire is white with black eyes"),
    ("ball python", "banana", IncompleteDominant, "[Mallery & Carrillo 2016, Phyllomedusa 15: 29-42]"),
    ("ball python", "pinstripe", Dominant, "cp: two copies look like one"),
    (
        "corn snake",
        "amel",
        Recessive,
        "[Bechtel & Bechtel 1989, J. Hered. 80: 272-276; Saenko et al. 2015, Sci. Rep. 5: 17118]",
    ),
    ("corn snake", "anery", Recessive, "[Bechtel & Bechtel 1989] independent of amel"),
    ("corn snake", "lavender", Recessive, "[Ullate-Agote et al. 2020, PNAS 117: 26307] LYST"),
    ("corn snake", "motley", Recessive, "[Montandon et al. 2025, Genome Biol. 26: 73] CLCN2"),
    ("corn snake", "stripe", Recessive, "[Montandon et al. 2025] CLCN2"),
    ("corn snake", "tessera", Dominant, "cp: two copies look like one"),
    ("western hognose", "albino", Recessive, "cp"),
    ("western hognose", "axanthic", Recessive, "cp"),
    ("western hognose", "anaconda", IncompleteDominant, "cp: superconda is patternless"),
    ("leopard gecko", "lemon_frost", IncompleteDominant, "[Guo et al. 2021, PLoS Genet. 17: e1009580] semi-dominant"),
    ("leopard gecko", "mack_snow", IncompleteDominant, "cp: super snow differs"),
    ("leopard gecko", "tremper", Recessive, "cp"),
    ("leopard gecko", "bell", Recessive, "cp"),
    ("leopard gecko", "rainwater", Recessive, "cp"),
    ("leopard gecko", "eclipse", Recessive, "cp"),
    ("boa", "albino_kahl", Recessive, "cp"),
    ("boa", "albino_sharp", Recessive, "cp"),
    ("boa", "anery", Recessive, "cp"),
];

#[test]
fn modes_of_inheritance() {
    let catalogue = Catalogue::builtin().expect("the built-in catalogues are valid");
    for (name, id, mode, source) in MODES {
        assert_eq!(gene(species(&catalogue, name), id).entry.inheritance, *mode, "{name}: {id}: {source}");
    }
}

#[test]
fn alleles_share_a_locus_and_look_alikes_do_not() {
    let catalogue = Catalogue::builtin().expect("the built-in catalogues are valid");
    let one_locus: &[(&str, &[&str])] = &[
        ("ball python", &["mojave", "lesser", "butter", "russo", "phantom"]), // cp: the blue-eyed whites
        ("ball python", &["cinnamon", "black_pastel"]),                       // cp: eight ball
        ("ball python", &["yellow_belly", "specter", "gravel", "spark"]), // Dao et al. 2023: one locus, several variants
        ("ball python", &["fire", "vanilla"]),                            // cp
        ("ball python", &["albino", "candy", "toffee"]),                  // cp; the locus is TYR (Brown et al. 2022)
        ("corn snake", &["motley", "stripe"]),                            // Montandon et al. 2025
        ("corn snake", &["amel", "ultra"]),                               // cp: ultramel holds one of each
    ];
    for (name, ids) in one_locus {
        let species = species(&catalogue, name);
        let loci: Vec<_> = ids.iter().map(|id| gene(species, id).locus).collect();
        assert!(
            loci[0].is_some() && loci.iter().all(|l| *l == loci[0]),
            "{name}: {ids:?} are alleles, but sit at {loci:?}"
        );
    }
    let apart: &[(&str, &str, &str)] = &[
        ("ball python", "albino", "lavender_albino"), // Brown et al. 2022: TYR and OCA2
        ("ball python", "albino", "ultramel"),        // Brown et al. 2022: TYR and TYRP1
        ("ball python", "axanthic_vpi", "axanthic_tsk"), // cp: normal-looking double hets
        ("ball python", "pastel", "black_pastel"),    // cp
        ("ball python", "desert", "desert_ghost"),    // cp
        ("corn snake", "amel", "anery"),              // Bechtel & Bechtel 1989: independent
        ("leopard gecko", "tremper", "bell"),         // cp: hidden double carriers
        ("leopard gecko", "bell", "rainwater"),       // cp
        ("boa", "albino_kahl", "albino_sharp"),       // cp
    ];
    for (name, a, b) in apart {
        let species = species(&catalogue, name);
        assert_ne!(gene(species, a).locus, gene(species, b).locus, "{name}: {a} and {b} are different genes");
    }
}

#[test]
fn pairs_of_alleles_have_their_names() {
    let catalogue = Catalogue::builtin().expect("the built-in catalogues are valid");
    // Common practice, no source.
    let pairs = [
        ("ball python", ["lesser", "mojave"], "white"),
        ("ball python", ["black_pastel", "cinnamon"], "black"),
        ("ball python", ["specter", "yellow_belly"], "stripe"),
        ("corn snake", ["amel", "ultra"], ""),
        ("corn snake", ["motley", "stripe"], ""),
    ];
    for (name, alleles, look) in pairs {
        let species = species(&catalogue, name);
        let pair = species.file().allele_pair.iter().find(|p| alleles.iter().all(|a| p.alleles.iter().any(|b| a == b)));
        let pair = pair.unwrap_or_else(|| panic!("{name}: {alleles:?} is a pair with a name"));
        assert!(pair.look.contains(look), "{}: {}", pair.name, pair.look);
    }
}

#[test]
fn lethals_and_harm() {
    let catalogue = Catalogue::builtin().expect("the built-in catalogues are valid");
    let ball = species(&catalogue, "ball python");
    let lethal = |id: &str| gene(ball, id).entry.homozygous_lethal.as_ref().map(|l| l.status);
    // Nothing on lethal genotypes of pythons is published: reported where keepers agree, suspected where they do not.
    assert_eq!(lethal("champagne"), Some(LethalStatus::Reported));
    assert_eq!(lethal("hidden_gene_woma"), Some(LethalStatus::Reported));
    assert_eq!(lethal("spider"), Some(LethalStatus::Suspected));
    for viable in ["pastel", "mojave", "lesser", "cinnamon", "pinstripe", "banana", "clown", "piebald", "fire", "enchi"]
    {
        assert_eq!(lethal(viable), None, "{viable}: two copies live");
    }
    let serious =
        |id: &str, species: &Species| gene(species, id).entry.welfare.iter().any(|w| w.severity == Severity::Serious);
    // Starck et al. 2022, PLoS ONE 17: e0262788; Rose & Williams 2014, J. Exot. Pet Med. 23.
    let spider = &gene(ball, "spider").entry.welfare;
    assert!(
        serious("spider", ball)
            && ["starck2022", "rose2014"].iter().all(|s| spider.iter().any(|w| w.source.contains(&(*s).to_owned())))
    );
    // Guo et al. 2021: tumours in more than 80 % of carriers, one copy included.
    let gecko = species(&catalogue, "leopard gecko");
    assert!(serious("lemon_frost", gecko));
    assert_eq!(gene(gecko, "lemon_frost").entry.breeding_limit, Some(BreedingLimit::Discouraged));
    // Common practice, no source: desert females die at laying.
    assert_eq!(gene(ball, "desert").entry.breeding_limit, Some(BreedingLimit::NoFemales));
}

#[test]
fn only_banana_is_linked_with_the_sex() {
    let catalogue = Catalogue::builtin().expect("the built-in catalogues are valid");
    for species in catalogue.species() {
        let linked = species.genes().iter().filter(|g| g.entry.sex_linked.is_some());
        let linked: Vec<&str> = linked.map(|g| g.entry.id.as_str()).collect();
        // Mallery & Carrillo 2016; coral glow is the same gene (common practice, no source).
        let expected: &[&str] = if species.key() == "ball_python" { &["banana"] } else { &[] };
        assert_eq!(linked, expected, "{}", species.name());
    }
}
