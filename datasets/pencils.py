"""The three invented ranges: one pencil a line, as `name | recipe | marks`, in the makers' order.

Amounts are of the pigments in `pigments.py`; 1 of a strong pigment is a deep masstone. A mark is
`discontinued`, `metallic` or `fluorescent`. Codes count the lines.
"""

FENNMOOR = """
Sandeel Gleam | 0.354 lemon + 0.008 blue
Yellow Wrasse | 0.593 lemon + 0.026 dark earth
Gorse Headland | 1.004 lemon + 0.052 red earth
Poppyhorn Petal | 0.721 golden + 0.047 brown earth
Winkle Foot | 0.527 golden + 0.061 crimson
Starfish Arm | 0.725 amber + 0.054 turquoise
Sponge Reef | 0.888 lemon + 0.319 rose
Langoustine Boil | 0.452 amber + 0.406 red earth
Crab Bisque Bowl | 0.206 lemon + 0.153 red earth
Cockle Tongue | 0.204 lemon + 0.15 scarlet | discontinued
Prawn Whisker | 0.158 amber + 0.035 violet
Anemone Lip | 0.283 red earth + 0.102 amber
Red Gurnard | 0.589 yellow earth + 0.43 scarlet + 0.011 leaf
Beadlet Crown | 0.686 scarlet + 0.12 violet
Port Lamp Glass | 0.847 magenta + 0.693 amber
Thriftcushion | 0.223 crimson + 0.105 rose
Calyx Campion | 0.196 crimson
Crust Algae | 0.358 crimson + 0.163 magenta
Scallop Hinge | 0.18 orange + 0.107 violet
Old Barnacle Bed | 0.285 brown earth + 0.122 magenta | discontinued
Chiton Girdle | 0.105 brown earth + 0.059 crimson
Dogwhelk Lip | 0.169 scarlet + 0.101 deep blue
Dulse Frond | 0.734 brown earth + 0.634 rose
Laver Sheet | 0.852 crimson + 0.33 turquoise
Pepperdulse Tip | 0.688 crimson + 0.086 cyan
Purple Sandpiper | 0.488 magenta + 0.255 dark earth
Jellyfish Bell | 0.292 magenta + 0.154 brown earth + 0.014 blue
Violet Sailsnail | 0.291 violet + 0.223 crimson
Urchin Spine | 0.431 violet + 0.346 crimson + 0.029 amber
Sailor Jelly | 0.354 violet + 0.108 scarlet
Hollyfoot Sandbank | 0.212 violet + 0.091 brown earth + 0.029 crimson | discontinued
Night Ferry Wake | 1.009 violet + 0.26 amber
Mussel Heart | 0.528 violet + 0.151 carbon + 0.066 brown earth
Dredged Fairway | 0.412 deep blue + 0.226 crimson
Blue Mussel Rim | 0.752 turquoise + 0.345 rose
Channel Marker | 0.376 deep blue + 0.09 brown earth
Offing At Noon | 0.343 blue + 0.076 crimson
Herring Back | 0.458 blue + 0.129 scarlet
Skua Morning | 0.282 blue + 0.033 orange + 2.2 white
Shallow Ford | 0.079 deep blue + 0.034 sea green
Mackerel Haze | 0.084 deep blue + 0.03 red earth
Tern Primary | 0.067 violet + 0.02 lemon
Morning Shoal | 0.14 deep blue + 0.028 lemon
Ice Foreshore | 0.035 blue + 0.01 brown earth
Wave Lace Edge | 0.055 deep blue + 0.01 lemon
Rain Squall Line | 0.126 deep blue + 0.123 carbon
Wet Slate | 0.366 brown earth + 0.281 blue
Trawler Hull Plate | 0.489 deep blue + 0.483 yellow earth
Foghorn Note | 0.205 violet + 0.132 lemon | discontinued
Ebb Lagoon Step | 0.64 cyan + 0.107 orange
Mermaid Pool Floor | 0.513 cyan + 0.181 yellow earth
Glass Float Rim | 0.182 leaf + 0.17 blue
Peacock Worm Tube | 1.054 turquoise + 0.184 red earth
Eider Nape | 0.207 sea green + 0.029 magenta
Bottle Kelp Grove | 0.768 leaf + 0.542 violet + 0.1 cyan | discontinued
Lettuceweed Lip | 0.537 leaf + 0.118 red earth
Gutweed Strand | 0.404 golden + 0.359 turquoise
Starboard Lamp Glass | 0.819 sea green + 0.145 amber
Samphire Stem Joint | 0.517 lemon + 0.101 deep blue
Velvethorn Branch | 1.02 sea green + 0.216 dark earth
Hornwort Tip | 0.499 lemon + 0.062 deep blue
Marram Blade | 0.312 cyan + 0.289 amber
Seakale Rib | 0.138 sea green + 0.115 dark earth
Lichen Ledge | 0.189 amber + 0.167 cyan
Dune Pine Needle | 1 cyan + 0.614 amber
Rock Fennel | 0.437 leaf + 0.138 scarlet + 0.073 carbon
Bladderwrack Bead | 0.914 amber + 0.57 cyan
Knotted Wrack Knot | 0.7 lemon + 0.379 carbon
Sugarkelp Frill | 0.614 amber + 0.255 leaf + 0.196 cyan
Holdfast Root | 1.14 amber + 0.569 blue
Foam Crest | 0.053 golden + 0.011 turquoise
Oyster Hinge | 0.067 yellow earth + 0.027 dark earth
Razorshell Edge | 0.081 amber + 0.029 leaf
Pink Tellin | 0.057 red earth + 0.047 rose
Urchin Test Dust | 0.102 crimson
Baltic Tellin | 0.066 scarlet + 0.031 lemon
Moon Jelly Rim | 0.072 magenta + 0.029 leaf
Lilac Sponge Pore | 0.128 rose + 0.088 turquoise + 0.025 sea green
Orchid Anemone Veil | 0.122 magenta + 0.059 brown earth | discontinued
Sea Mist Fern | 0.069 sea green + 0.016 brown earth
Gutweed Film | 0.09 golden + 0.047 cyan
Whelk Milk | 0.059 yellow earth + 0.015 turquoise
Shrimp Shadow | 0.107 scarlet + 0.011 leaf
Winkle Pearl | 0.053 crimson + 0.022 cyan
Slipway, Low Tide | 0.091 dark earth + 0.074 golden
Dune Crest Ripple | 0.155 brown earth + 0.147 lemon
Limpet Shell | 0.443 yellow earth + 0.081 blue
Cuttlebone Core | 0.063 red earth + 0.046 leaf
Marl Bank | 0.764 amber + 0.201 sea green + 1.228 white
Cliff Fall Clay | 0.344 brown earth + 0.263 golden
Rusted Anchor | 0.782 orange + 0.309 sea green
Iron Shingle | 0.809 yellow earth + 0.228 dark earth
Green Crab Claw | 2.2 yellow earth + 0.289 red earth
Groyne Timber | 0.654 orange + 0.481 sea green
Peat Seep | 1.191 amber + 0.521 deep blue
Otter Holt | 0.795 brown earth + 0.121 leaf
Estuary Mud | 0.356 turquoise + 0.329 red earth + 0.168 amber
Bleached Spar | 0.242 dark earth + 0.03 leaf
Cobble Dust | 0.356 brown earth + 0.14 turquoise
Limpet Chalk | 0.036 carbon + 0.015 yellow earth
Hag Stone | 0.135 dark earth + 0.018 cyan
Dogwhelk Dun | 0.151 carbon + 0.049 yellow earth
Barge Tarpaulin | 0.253 carbon + 0.039 amber
Tarred Bollard | 0.258 dark earth + 0.251 carbon
Fulmar Breast | 0.034 dark earth + 0.025 deep blue
Harbour Drizzle | 0.075 carbon + 0.029 deep blue
Slipway Concrete | 0.134 carbon + 0.044 deep blue
Mackerel Back | 0.213 carbon + 0.068 deep blue
Anchor Forging | 0.527 brown earth + 0.322 blue
Grey Seal Flank | 0.202 carbon
Cormorant Night | 0.404 carbon + 0.253 deep blue
Tarred Rope | 0.699 carbon + 0.051 golden
Gull Breast | 1.6 white + 0.002 golden
Scale Silver Herring | 0.515 mica + 0.132 turquoise + 0.079 scarlet | metallic
Brass Porthole | 0.613 yellow earth + 0.387 mica + 0.164 leaf | metallic
Copper Keel Plate | 1.08 yellow earth + 0.985 mica + 0.125 dark earth | metallic
Bell Bronze Buoy | 0.421 orange + 0.405 sea green + 0.224 mica | metallic
Dye Marker Slick | 0.9 glow yellow | fluorescent
Distress Flare | 0.9 glow orange | fluorescent
Net Float Neon | 0.65 glow pink + 0.1 glow orange | fluorescent
"""

BRINDLEWICK = """
Tansy Breakwater | 0.4 lemon + 0.013 dark earth
Yellow Sponge Cup | 0.929 lemon + 0.037 magenta
Pollock Fry | 0.93 lemon + 0.106 rose
Buoy Paint Flake | 0.696 amber + 0.055 violet
Boiled Claw | 0.611 orange + 0.054 carbon
Apricot Sunstar | 0.456 yellow earth
Whelk Foot Fold | 0.12 lemon + 0.068 crimson
Red Ensign Hem | 0.556 yellow earth + 0.433 scarlet + 0.015 leaf
Slipway Beacon | 0.71 amber + 0.547 magenta
Gurnard Gill | 0.676 crimson + 0.383 red earth
Rosy Feather Star | 0.292 rose + 0.163 red earth
Thrift Seedhead | 0.2 crimson
Maerl Twig | 0.471 magenta + 0.238 amber
Paddleworm Vein | 0.19 orange + 0.106 violet + 0.012 deep blue
Bryozoan Mat | 0.318 crimson + 0.124 leaf
Pink Paint Weed | 0.31 scarlet + 0.07 blue
Sea Beet Vein | 0.717 scarlet + 0.47 violet
Oarlock Wine | 0.612 crimson + 0.109 deep blue
Purple Topshell | 0.358 crimson + 0.305 violet
Tyrian Whelk Dye | 0.592 rose + 0.206 sea green
Lavender Groyne Root | 0.144 deep blue + 0.133 crimson
Gannet Eye Ring | 0.438 rose + 0.421 turquoise + 0.051 orange
Fathom Mark Seven | 0.745 violet + 0.229 dark earth
Blue Starfish Arm | 0.677 violet + 0.147 lemon
Sounding Lead Line | 0.331 deep blue + 0.064 carbon
Wrasse Stripe | 0.39 blue + 0.052 scarlet
Kittiwake Wingtip | 0.181 deep blue + 0.042 dark earth
Bay At Slack Water | 0.285 deep blue + 0.192 leaf + 0.111 violet
Sandmartin Sky | 0.095 deep blue + 0.019 golden
Medusa Bell Edge | 0.044 blue + 0.017 crimson
Haar Over Harbour | 0.215 blue + 0.131 orange
Blue Mud Shoal | 0.394 leaf + 0.3 scarlet
Slate Quay Step | 0.233 carbon + 0.152 deep blue
Gale Warning Cone | 0.566 blue + 0.421 red earth + 0.119 sea green
Reef Shelf Pool | 0.567 turquoise + 0.069 scarlet
Sea Gooseberry Comb | 0.222 sea green + 0.096 blue + 2.043 white
Wrasse Nest Weed | 0.643 sea green + 0.142 magenta
Green Ribbonweed | 0.525 leaf + 0.138 dark earth
Codium Finger | 1.162 sea green + 0.435 yellow earth
Glasswort Node | 0.336 golden + 0.203 turquoise
Alexanders Bud | 0.378 golden + 0.172 sea green + 1.556 white
Seablite Sprig | 0.45 yellow earth + 0.365 turquoise
Burnet Cliff Leaf | 0.316 sea green + 0.132 brown earth + 0.121 carbon
Orache Leaf | 0.257 amber + 0.248 cyan
Thongweed Strap | 0.763 golden + 0.214 deep blue + 0.144 violet
Spiral Wrack Twist | 0.617 lemon + 0.376 carbon
Dabberlock Midrib | 0.47 lemon + 0.171 carbon + 0.021 red earth
Butterfish Belly | 0.06 golden + 0.01 carbon
Sandgoby Fin | 0.063 brown earth + 0.041 golden
Mermaid Toenail | 0.063 scarlet
Cowrie Inside | 0.061 scarlet + 0.04 magenta
Stranded Sail Jelly | 0.053 violet + 0.031 crimson
Sea Spray Mint | 0.079 sea green + 0.013 crimson
Lugworm Cast | 0.191 amber + 0.09 blue
Ripple Shoal | 0.267 amber + 0.116 turquoise + 1.353 white
Weathered Oar | 0.35 red earth + 0.203 leaf
Iron Ringbolt | 0.554 brown earth + 0.364 amber
Sandstone Stack Foot | 1.013 yellow earth + 0.118 sea green
Creosote Pile | 0.609 scarlet + 0.591 leaf
Barque Timber | 0.571 dark earth + 0.373 golden + 0.039 crimson
Mudskipper Flank | 0.206 carbon + 0.186 yellow earth
Oyster Catcher Leg | 0.28 amber + 0.27 red earth
Seal Pup | 0.093 dark earth + 0.017 turquoise
Grapnel Iron | 0.154 carbon + 0.048 yellow earth
Bilge Pitch | 0.356 carbon + 0.036 amber
Skerry Mist | 0.107 yellow earth + 0.074 deep blue
Cormorant Wing | 0.34 brown earth + 0.216 blue + 0.022 amber
Coal Barge | 1.031 turquoise + 0.683 scarlet
Limewashed Cottage | 0.006 yellow earth + 1.3 white
Tin Mackerel Spoon | 0.09 carbon + 0.006 mica | metallic
Gilt Figurehead | 2.2 mica + 1.353 golden + 0.051 violet | metallic
Signal Vest | 0.7 glow yellow + 0.3 white | fluorescent
"""

QUILLET = """
Sea Cucumber Lemon | 0.418 lemon + 0.012 violet
Crab Pot Buoy | 0.948 lemon + 0.081 red earth
Orange Sheath Tunicate | 0.635 amber + 0.037 carbon
Sun Coral Cup | 0.594 yellow earth + 1.734 white
Scallop Mantle Eye | 0.476 amber + 0.311 crimson
Red Tide Line | 0.479 lemon + 0.375 violet
Strawberry Worm | 0.638 scarlet + 0.113 violet
Rose Petal Foliose | 0.209 magenta + 0.156 orange
Tellin Hinge | 0.07 red earth + 0.063 rose
Shoal Blush | 0.184 scarlet + 0.067 deep blue
Gigartina Tuft | 0.558 crimson + 0.148 carbon
Purple Laver Ruffle | 0.284 crimson + 0.219 magenta + 0.157 cyan
Sea Slug Cerata | 0.342 violet + 0.124 scarlet
Anchor Hour | 0.656 violet + 0.247 dark earth
Blue Rayed Line | 0.426 deep blue + 0.112 red earth
Ferry Bow Wave | 0.319 deep blue + 0.053 golden
Paddling Blue | 0.145 deep blue + 0.026 golden
Spindrift Streak | 0.08 turquoise + 0.029 rose
Storm Cone Hoist | 0.162 carbon + 0.131 deep blue
Teal Anchor Buoy | 0.501 cyan + 0.141 dark earth
Rockpool Glaze | 0.465 turquoise + 0.133 yellow earth
Grotto Weed | 0.813 turquoise + 0.213 golden + 0.059 carbon
Sea Bright Grass | 0.502 leaf + 0.269 yellow earth
Codfish Weed | 1.227 sea green + 0.538 yellow earth
Sprout Glasswort | 0.328 golden + 0.174 turquoise
Salt Meadow Rush | 0.223 dark earth + 0.213 leaf
Brackish Pond | 0.743 lemon + 0.477 violet
Tång Strap | 0.733 golden + 0.286 deep blue + 0.053 orange
Channel Wrack Crisp | 0.628 lemon + 0.412 carbon
Custard Sponge | 0.105 golden + 0.02 violet
Peach Cockle Lip | 0.064 lemon + 0.05 crimson
Lilac Tidepool Film | 0.059 violet + 0.039 crimson
Foam Mint Lace | 0.078 sea green + 0.021 red earth
Beach Tent Canvas | 0.093 orange + 0.084 leaf
Cart Track Sand | 0.746 yellow earth + 0.107 sea green
Rust Bollard | 0.526 amber + 0.461 brown earth + 0.044 sea green
Tidemark Timber | 0.704 amber + 0.283 deep blue
Wet Peat Ledge | 1.288 amber + 0.572 deep blue
Cooled Mud Bank | 0.68 yellow earth + 0.207 deep blue
Pumice Float | 0.052 carbon + 0.013 yellow earth
Beach Cinder | 0.225 carbon + 0.056 yellow earth
Wet Slate | 0.227 carbon + 0.082 deep blue
Basalt Stack | 0.85 yellow earth + 0.5 deep blue
Lampsmoke Jetty | 0.63 carbon + 0.11 brown earth
Chalk Stack Face | 1.2 white + 0.004 blue
Pewter Tankard Fish | 0.199 turquoise + 0.122 scarlet + 0.065 mica | metallic
Gold Sand Grain | 0.743 mica + 0.285 golden + 0.114 dark earth | metallic
Glow Plankton | 0.9 glow yellow + 0.12 leaf | fluorescent
"""
