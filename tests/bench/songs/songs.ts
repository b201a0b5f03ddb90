/**
 * Twelve songs in the public domain with three verses each, set for the harp from memory: the proof set of words, lines and
 * bars. Tab with lengths as `parseTune` reads it; in the words `-` parts syllables, `_` holds one over a note more, `~`
 * sings two words on one note.
 */
export interface Song {
  readonly name: string;
  /** Code of the language that its words are split by; English when left out. */
  readonly language?: string;
  readonly metre: { readonly count: number; readonly unit: number };
  /** Quarter notes before the first bar line. */
  readonly pickupBeats: number;
  readonly tempoBpm: number;
  readonly verse: readonly string[];
  readonly verses: readonly (readonly string[])[];
  readonly refrain?: { readonly tune: readonly string[]; readonly words: readonly string[] };
  /** A line that one verse sings to other notes; `stacked` is how it is sung to the notes of the first verse. */
  readonly variation?: {
    readonly verse: number;
    readonly line: number;
    readonly tune: string;
    readonly stacked: string;
  };
}

const COMMON = { count: 4, unit: 4 };
const WALTZ = { count: 3, unit: 4 };
const JIG = { count: 6, unit: 8 };

export const SONGS: readonly Song[] = [
  {
    name: 'amazing-grace',
    metre: WALTZ,
    pickupBeats: 1,
    tempoBpm: 88,
    verse: [
      "3 4:2 5:.5 4:.5 5:2 -4 4:2 -3'' 3:2",
      '3 4:2 5:.5 4:.5 5:2 -4 6:5',
      "5 6:2 5:.5 4:.5 5:2 -4 4:2 -3'' 3:2",
      '3 4:2 5:.5 4:.5 5:2 -4 4:5',
    ],
    verses: [
      [
        'A-maz-ing_ grace how sweet the sound',
        'That saved a_ wretch like me',
        'I once was_ lost but now am found',
        'Was blind but_ now I see',
      ],
      [
        "'Twas grace that_ taught my heart to fear",
        'And grace my_ fears re-lieved',
        'How pre-cious_ did that grace ap-pear',
        'The hour I_ first be-lieved',
      ],
      [
        'Through man-y_ dan-gers toils and snares',
        'I have al_-read-y come',
        "'Tis grace hath_ brought me safe thus far",
        'And grace will_ lead me home',
      ],
    ],
  },
  {
    name: 'oh-susanna',
    metre: COMMON,
    pickupBeats: 1,
    tempoBpm: 132,
    verse: [
      '4:.5 -4:.5 5 6 6:1.5 -6:.5 6 5 4:1.5 -4:.5 5 5 -4 4 -4:3',
      '4:.5 -4:.5 5 6 6:1.5 -6:.5 6 5 4:1.5 -4:.5 5 5 -4 -4 4:3',
      '4:.5 -4:.5 5 6 6:1.5 -6:.5 6 5 4:1.5 -4:.5 5 5 -4 4 -4:3',
      '4:.5 -4:.5 5 6 6:1.5 -6:.5 6 5 4:1.5 -4:.5 5 5 -4 -4 4:4',
    ],
    verses: [
      [
        'Oh I come from Al-a-bam-a with my ban-jo on my knee',
        "I'm go-ing to Lou-i-si-an-a my true love for to see",
        'It_ rained all night the day I left the weath-er it was dry',
        "The_ sun so hot I froze to death Su-san-na don't you cry",
      ],
      [
        'I_ had a dream the oth-er night when ev-ery-thing was still',
        'I_ thought I saw Su-san-na dear a-com-ing down the hill',
        'The_ buck-wheat cake was in her mouth the tear was in her eye',
        "Says_ I I'm com-ing from the south Su-san-na don't you cry",
      ],
      [
        "I_ soon will be in New Or-leans and then I'll look a-round",
        'And_ when I find Su-san-na I will fall up-on the ground',
        "But_ if I do not find her then I'll sure-ly have to die",
        "And_ when I'm dead and bur-ied then Su-san-na don't you cry",
      ],
    ],
    refrain: {
      tune: ['-5:2 -5:2 -6 -6:2 -6 6 6 5 4 -4:3', '4:.5 -4:.5 5 6 6:1.5 -6:.5 6 5 4:1.5 -4:.5 5 5 -4 -4 4:3'],
      words: ["Oh Su-san-na oh don't you cry for me", 'For I come from Al-a-bam-a with my ban-jo on my knee'],
    },
  },
  {
    name: 'my-bonnie',
    metre: WALTZ,
    pickupBeats: 1,
    tempoBpm: 126,
    verse: [
      "3 5:1.5 -4:.5 4 -4 4 -3'' 3 2:4",
      '3 5:1.5 -4:.5 4 4 -3 4 -4:5',
      "3 5:1.5 -4:.5 4 -4 4 -3'' 3 2:4",
      "3 -4 -4 4 -3 -3'' -3 4:6",
    ],
    verses: [
      [
        'My Bon-nie lies o-ver the o-cean',
        'My Bon-nie lies o-ver the sea',
        'My Bon-nie lies o-ver the o-cean',
        'Oh bring back my Bon-nie to me',
      ],
      [
        'Last night as I lay on my pil-low',
        'Last night as I lay on my bed',
        'Last night as I lay on my pil-low',
        'I dreamed that my Bon-nie was dead',
      ],
      [
        'The winds have blown o-ver the o-cean',
        'The winds have blown o-ver the sea',
        'The winds have blown o-ver the o-cean',
        'And brought back my Bon-nie to me',
      ],
    ],
    refrain: {
      tune: [
        "3:3 4:3 -3'':3 -4:2 5 -4 -4 -4 4 -3 4 -4:2 4 5:3",
        "3:3 4:3 -3'':3 -4:2 5 -4 -4 4 -3 -3'' -3 4:5",
      ],
      words: [
        'Bring back bring back oh bring back my Bon-nie to me to me',
        'Bring back bring back oh bring back my Bon-nie to me',
      ],
    },
  },
  {
    name: 'red-river-valley',
    metre: COMMON,
    pickupBeats: 1,
    tempoBpm: 84,
    verse: [
      "3:.5 4:.5 5 5 -4:.5 4:.5 -4:.5 4:.5 -3'' 4:2",
      '3:.5 4:.5 5 4:.5 5:.5 6 -5:.5 5:.5 -4:3',
      '6:.5 -5:.5 5 5 -4:.5 4:.5 -4:.5 5:.5 6 -5:2',
      "-3'':.5 -3'':.5 3 -3:.5 4:.5 -4 5:.5 -4:.5 4:3",
    ],
    verses: [
      [
        'From this val-ley they say you are go-ing',
        'We will miss your bright eyes and sweet smile',
        'For they say you are tak-ing the sun-shine',
        'That has bright-ened our path-way a-while',
      ],
      [
        'Come and sit by my side if you love me',
        'Do not has-ten to bid me a-dieu',
        'But re-mem-ber the Red Riv-er Val-ley',
        'And the cow-boy who loved you so true',
      ],
      [
        "Won't you think of the val-ley you're leav-ing",
        'Oh how lone-ly how sad it will be',
        "Oh_ think of the fond heart you're break-ing",
        'And the grief you are caus-ing to me',
      ],
    ],
  },
  {
    name: 'clementine',
    metre: WALTZ,
    pickupBeats: 1,
    tempoBpm: 116,
    verse: [
      '4:.5 4:.5 4 3 5:.5 5:.5 5 4',
      '4:.5 5:.5 6 6 -5:.5 5:.5 -4:2',
      '-4:.5 5:.5 -5 -5 5:.5 -4:.5 5 4',
      '4:.5 5:.5 -4 3 -3:.5 -4:.5 4:2',
    ],
    verses: [
      [
        'In a cav-ern in a can-yon',
        'Ex-ca-vat-ing for a mine',
        'Dwelt a min-er for-ty nin-er',
        'And his daugh-ter Clem-en-tine',
      ],
      [
        'Light she was and like a fair-y',
        'And her shoes were num-ber nine',
        'Her-ring box-es with-out top-ses',
        'San-dals were for Clem-en-tine',
      ],
      [
        'Drove she duck-lings to the wa-ter',
        'Ev-ery morn-ing just at nine',
        'Hit her foot a-gainst a splin-ter',
        'Fell in-to the foam-ing brine',
      ],
    ],
    refrain: {
      tune: [
        '4:.5 4:.5 4 3 5:.5 5:.5 5 4',
        '4:.5 5:.5 6 6 -5:.5 5:.5 -4:2',
        '-4:.5 5:.5 -5 -5 5:.5 -4:.5 5 4',
        '4:.5 5:.5 -4 3 -3:.5 -4:.5 4:2',
      ],
      words: [
        'Oh my dar-ling oh my dar-ling',
        'Oh my dar-ling Clem-en-tine',
        'Thou art lost and gone for-ev-er',
        'Dread-ful sor-ry Clem-en-tine',
      ],
    },
  },
  {
    name: 'auld-lang-syne',
    metre: COMMON,
    pickupBeats: 1,
    tempoBpm: 92,
    verse: [
      '3 4:1.5 4:.5 4 5 -4:1.5 4:.5 -4',
      '5 4:1.5 4:.5 5 6 -6:3',
      '-6 6:1.5 5:.5 5 4 -4:1.5 4:.5 -4',
      "5 4:1.5 -3'':.5 -3'' 3 4:3",
    ],
    verses: [
      [
        'Should auld ac-quaint-ance be for-got',
        'And nev-er brought to mind',
        'Should auld ac-quaint-ance be for-got',
        'And days of auld lang syne',
      ],
      [
        "And there's a hand my trust-y friend",
        'And gie a hand to me',
        "We'll take a right good will-ie waught",
        'For days of auld lang syne',
      ],
      [
        'We two have run a-bout the hills',
        'And pulled the gow-ans fine',
        "But we've wan-dered man-y~a wear-y foot",
        'Since days of auld lang syne',
      ],
    ],
    refrain: {
      tune: [
        '-6 6:1.5 5:.5 5 4 -4:1.5 4:.5 -4',
        '-6 6:1.5 5:.5 5 6 -6:3',
        '7 6:1.5 5:.5 5 4 -4:1.5 4:.5 -4',
        "5 4:1.5 -3'':.5 -3'' 3 4:3",
      ],
      words: [
        'For auld_ lang_ syne my dear',
        'For auld_ lang_ syne',
        "We'll take a cup of kind-ness yet",
        'For days of auld lang syne',
      ],
    },
    variation: {
      verse: 3,
      line: 3,
      tune: '-6:.5 -6:.5 6:1.5 5:.5 5 4 -4:1.5 4:.5 -4',
      stacked: "But~we've wan-dered man-y~a wear-y foot",
    },
  },
  {
    name: 'silent-night',
    metre: JIG,
    pickupBeats: 0,
    tempoBpm: 70,
    verse: [
      '6:.75 -6:.25 6:.5 5:1.5 6:.75 -6:.25 6:.5 5:1.5',
      '-8 -8:.5 -7:1.5 7 7:.5 6:1.5',
      '-6 -6:.5 7:.75 -7:.25 -6:.5 6:.75 -6:.25 6:.5 5:1.5',
      '-6 -6:.5 7:.75 -7:.25 -6:.5 6:.75 -6:.25 6:.5 5:1.5',
      '-8 -8:.5 -9:.75 -8:.25 -7:.5 7:1.5 8:1.5',
      '7:.75 6:.25 5:.5 6:.75 -5:.25 -4:.5 4:3',
    ],
    verses: [
      [
        'Si_-lent night ho_-ly night',
        'All is calm all is bright',
        'Round yon vir_-gin moth-er and child',
        'Ho-ly in-fant so ten-der and mild',
        'Sleep in heav-en-ly peace_',
        'Sleep_ in heav-en-ly peace',
      ],
      [
        'Si_-lent night ho_-ly night',
        'Shep-herds quake at the sight',
        'Glo-ries stream_ from heav-en a-far',
        "Heav'n-ly hosts_ sing al-le-lu-ia",
        'Christ the Sav-ior is born_',
        'Christ_ the Sav-ior is born',
      ],
      [
        'Si_-lent night ho_-ly night',
        "Son of God love's pure light",
        'Ra-diant beams_ from thy ho-ly face',
        'With the dawn_ of re-deem-ing grace',
        'Je-sus Lord_ at thy birth',
        'Je_-sus Lord at thy birth',
      ],
    ],
  },
  {
    name: 'drunken-sailor',
    metre: COMMON,
    pickupBeats: 0,
    tempoBpm: 138,
    verse: [
      '-6 -6:.5 -6:.5 -6 -6:.5 -6:.5 -6 -4 -5 -6',
      '6 6:.5 6:.5 6 6:.5 6:.5 6 4 5 6',
      '-6 -6:.5 -6:.5 -6 -6:.5 -6:.5 -6 -7 7 -8',
      '7 -6 6 5 -4:2 -4:2',
    ],
    verses: [
      [
        'What shall we do with a drunk-en sail-or',
        'What shall we do with a drunk-en sail-or',
        'What shall we do with a drunk-en sail-or',
        'Ear-ly in the morn-ing',
      ],
      [
        "Put him in the long boat till he's so-ber",
        "Put him in the long boat till he's so-ber",
        "Put him in the long boat till he's so-ber",
        'Ear-ly in the morn-ing',
      ],
      [
        'Shave his bel-ly with a rust-y ra-zor',
        'Shave his bel-ly with a rust-y ra-zor',
        'Shave his bel-ly with a rust-y ra-zor',
        'Ear-ly in the morn-ing',
      ],
    ],
    refrain: {
      tune: ['-6:2 -6 -6 -6 -4 -5 -6', '6:2 6 6 6 4 5 6', '-6:2 -6 -6 -6 -7 7 -8', '7 -6 6 5 -4:2 -4:2'],
      words: [
        'Way hay and up she ris-es',
        'Way hay and up she ris-es',
        'Way hay and up she ris-es',
        'Ear-ly in the morn-ing',
      ],
    },
  },
  {
    name: 'greensleeves',
    metre: JIG,
    pickupBeats: 0.5,
    tempoBpm: 78,
    verse: [
      '-4:.5 -5 6:.5 -6:.75 -7:.25 -6:.5 6 5:.5 4',
      "-4:.5 -5 -4:.5 -4:.75 4:.25 -4:.5 5:1.5 -3''",
      '-4:.5 -5 6:.5 -6:.75 -7:.25 -6:.5 6 5:.5 4',
      '-4:.5 -5:.75 5:.25 -4:.5 4 -4:.5 -4:1.5 -4:1.5',
    ],
    verses: [
      [
        'A-las my love_ you do me wrong',
        'To cast me off dis-cour-teous-ly',
        'And I have loved_ you oh so long',
        'De-light-ing in your com-pa-ny',
      ],
      [
        'I have been read_-y at your hand',
        'To grant what-ev-er you would crave',
        'I have both wa_-ged life and land',
        'Your love and good will for to have',
      ],
      [
        'If you in-tend_ thus to dis-dain',
        'It does the more en-rap-ture me',
        'And ev-en so_ I still re-main',
        'A lov-er in cap-tiv-i-ty',
      ],
    ],
    refrain: {
      tune: [
        '7:1.5 7:.75 -7:.25 -6:.5 6 5:.5 4:1.5',
        "-5 -4:.5 -4:.75 4:.25 -4:.5 5:1.5 -3'':1.5",
        '7:1.5 7:.75 -7:.25 -6:.5 6 5:.5 4',
        '-4:.5 -5:.75 5:.25 -4:.5 4 -4:.5 -4:1.5 -4',
      ],
      words: [
        'Green-sleeves_ was all my joy',
        'Green-sleeves was_ my de-light',
        'Green-sleeves was my heart of gold',
        'And who but my la-dy Green-sleeves',
      ],
    },
  },
  {
    name: 'when-the-saints',
    metre: COMMON,
    pickupBeats: 3,
    tempoBpm: 144,
    verse: [
      '4 5 -5 6:5 4 5 -5 6:5',
      '4 5 -5 6:2 5:2 4:2 5:2 -4:5',
      '5 5 -4 4:3 4 5:2 6 6 -5:5',
      '4 5 -5 6:2 5:2 4:2 -4:2 4:5',
    ],
    verses: [
      [
        'Oh when the saints go march-ing in',
        'Oh when the saints go march-ing in',
        'Lord I want to be in that num-ber',
        'Oh when the saints go march-ing in',
      ],
      [
        'Oh when the sun be-gins to shine',
        'Oh when the sun be-gins to shine',
        'Lord I want to be in that num-ber',
        'Oh when the sun be-gins to shine',
      ],
      [
        'Oh when the trum-pet sounds its call',
        'Oh when the trum-pet sounds its call',
        'Lord I want to be in that num-ber',
        'Oh when the trum-pet sounds its call',
      ],
    ],
  },
  {
    name: 'scarborough-fair',
    metre: WALTZ,
    pickupBeats: 0,
    tempoBpm: 112,
    verse: [
      '-4:2 -4 -6 -6 -6 5:1.5 -5:.5 5 -4:3',
      '-6:2 7 -8:3 7 -6 -7 6 -6:2',
      '-8 -8 -8 7:2 -6 -6 6 -5 5:3',
      '-4:2 -6 6 -5 5 4:2 5 -4:3',
    ],
    verses: [
      [
        'Are you go-ing to Scar-bor-ough fair',
        'Pars-ley sage rose-mar-y and thyme',
        'Re-mem-ber me to one who lives there',
        'She once was a true love of mine',
      ],
      [
        'Tell her to make me a cam-bric shirt',
        'Pars-ley sage rose-mar-y and thyme',
        'With-out no seam nor fine nee-dle work',
        "Then she'll be a true love of mine",
      ],
      [
        'Tell her to dry it on yon-der thorn',
        'Pars-ley sage rose-mar-y and thyme',
        'That nev-er bloomed since Ad-am was born',
        "Then she'll be a true love of mine",
      ],
    ],
  },
  {
    name: 'yankee-doodle',
    metre: COMMON,
    pickupBeats: 0,
    tempoBpm: 140,
    verse: ['4 4 -4 5 4 5 -4', '3 4 4 -4 5 4:2 -3:2', '4 4 -4 5 -5 5 -4', "4 -3 3 -3'' -3 4:2 4:2"],
    verses: [
      [
        'Yan-kee Doo-dle went to town',
        'A-rid-ing on a po-ny',
        'Stuck a feath-er in his hat',
        'And called it mac-a-ro-ni',
      ],
      [
        'Fa-ther and I went down to camp',
        'A-long with Cap-tain Good-ing',
        'There we saw the men and boys',
        'As thick as hast-y pud-ding',
      ],
      [
        'There was Cap-tain Wash-ing-ton',
        'Up-on a slap-ping stal-lion',
        'Giv-ing or-ders to his men',
        'I guess there was a mil-lion',
      ],
    ],
    refrain: {
      tune: [
        "-3'':1.5 -3:.5 -3'' 3 -3'' -3 4:2",
        "3:1.5 -3'':.5 3 2 3:2 3:2",
        "-3'':1.5 -3:.5 -3'' 3 -3'' -3 4",
        "-3'' 3 4 -3 -4 4:2 4:2",
      ],
      words: [
        'Yan-kee Doo-dle keep it up',
        'Yan-kee Doo-dle dan-dy',
        'Mind the mu-sic and the step',
        'And with the girls be hand-y',
      ],
    },
    variation: {
      verse: 2,
      line: 1,
      tune: '4 4:.5 4:.5 -4 5 4 5 -4',
      stacked: 'Fa-ther~and I went down to camp',
    },
  },
];
